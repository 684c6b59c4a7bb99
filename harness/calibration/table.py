"""The record as a table that spreadsheets and `unlit fit` read: CSV, each head with its unit."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from harness.calibration.record import HeatRecord
from harness.errors import UnlitError, WrongUseError

TIME, HEAT = "time [s]", "heat [%]"


def write_table(path: Path, record: HeatRecord) -> None:
    """Write `time [s], heat [%], PROBE [degC]`; an empty cell is no reading.

    Raises
    ------
    UnlitError
        When the file cannot be written.
    """
    try:
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow([TIME, HEAT, f"{record.probe} [degC]"])
            for time_s, heat, reading in zip(record.time_s, record.heat, record.temperature, strict=True):
                cell = "" if np.isnan(reading) else f"{reading:.4f}"
                writer.writerow([f"{time_s:.10g}", f"{100.0 * heat:.6g}", cell])
    except OSError as error:
        raise UnlitError(f"{path}: cannot be written: {error.strerror or error}.") from error


def read_table(path: Path) -> HeatRecord:
    """A table as `write_table` makes it.

    Raises
    ------
    WrongUseError
        If it is none; the message names the line.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise WrongUseError(f"{path}: cannot be read: {error}.") from error
    rows = list(csv.reader(text.splitlines()))
    if not rows or [cell.strip() for cell in rows[0][:2]] != [TIME, HEAT] or len(rows[0]) != 3:
        raise WrongUseError(f"{path}:1: the head must be `{TIME}, {HEAT}, NAME [degC]`.")
    head = rows[0][2].strip()
    if not head.endswith(" [degC]"):
        raise WrongUseError(f"{path}:1: column 3 is {head!r}. Name it with its unit, such as `mash [degC]`.")
    values = np.full((len(rows) - 1, 3), np.nan)
    for number, row in enumerate(rows[1:], start=2):
        if len(row) != 3:
            raise WrongUseError(f"{path}:{number}: {len(row)} cells; each row has 3.")
        for column, cell in enumerate(row):
            try:
                values[number - 2, column] = float(cell) if cell.strip() else np.nan
            except ValueError:
                raise WrongUseError(f"{path}:{number}: {cell!r} is no number.") from None
    try:
        return HeatRecord(values[:, 0], values[:, 1] / 100.0, values[:, 2], head.removesuffix(" [degC]"))
    except ValueError as error:
        raise WrongUseError(f"{path}: {error}") from None
