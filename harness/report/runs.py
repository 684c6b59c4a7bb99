"""The list of runs in a logbook."""

from __future__ import annotations

from collections.abc import Sequence

from rich.table import Table
from rich.text import Text

from harness.logbook import RunSummary
from harness.report.columns import table
from harness.report.console import style
from harness.report.plain import plain


def runs_table(runs: Sequence[RunSummary]) -> Table:
    """A line each, in the order given."""
    lines = table("run", "started (UTC)", "status", "device", last="scenario")
    for run in runs:
        lines.add_row(
            Text(str(run.run_id)),
            Text(run.started_at.removesuffix("+00:00").replace("T", " ")),
            Text(run.shown_status, style(run.shown_status)),
            Text(_short(run.meta.device)),
            Text(plain(run.meta.title or run.meta.scenario_file)),
        )
    return lines


def _short(device: str) -> str:
    """The end of a long link, which is what tells it from others."""
    shown = plain(device)
    return shown if len(shown) <= 24 else f"...{shown[-21:]}"
