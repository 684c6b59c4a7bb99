"""The record as a table that spreadsheets, `unlit fit` and `unlit tune` read: CSV, heads with units."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from harness.calibration.record import HeatRecord
from harness.errors import UnlitError

HEADS = ("time [s]", "heat_seen [%]")


def write_table(path: Path, record: HeatRecord) -> None:
    """Write `time [s], heat_seen [%], PROBE [degC]`; an empty cell is no reading.

    Raises
    ------
    UnlitError
        When the file cannot be written.
    """
    try:
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow([*HEADS, f"{record.probe} [degC]"])
            for time_s, heat, reading in zip(record.time_s, record.heat, record.temperature, strict=True):
                cell = "" if np.isnan(reading) else f"{reading:.4f}"
                writer.writerow([f"{time_s:.10g}", f"{100.0 * heat:.6g}", cell])
    except OSError as error:
        raise UnlitError(f"{path}: cannot be written: {error.strerror or error}.") from error
