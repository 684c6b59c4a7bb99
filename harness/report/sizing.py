"""An answer about sizes as a table."""

from __future__ import annotations

from collections.abc import Sequence

from rich.table import Table
from rich.text import Text

from harness.calibration.sizing.row import Row
from harness.report.columns import table
from harness.report.figures import number

CAUTION = (
    "Figures for planning. Gas and mains work is for those licensed for it: pressures, orifices, pipes, "
    "flues, cables and their protection are theirs to set and check, and local codes decide."
)


def sheet(rows: Sequence[Row]) -> Table:
    """One row a figure, with where it comes from."""
    made = table("", "", "", last="")
    made.show_header = False
    for row in rows:
        made.add_row(row.what, Text(number(row.value), justify="right"), row.unit, row.note)
    return made
