"""CSV by RFC 4180: a column a signal, the unit in its head."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from pathlib import Path

from harness.logbook import RunRecord
from harness.logbook.chunks import Values


def write_csv(record: RunRecord, names: Sequence[str], path: Path) -> None:
    """Write the named signals, chunk by chunk; every number reads back as the same float. OSError."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["time [ms]", *(f"{name} [{record.units[name]}]" for name in names)])
        for times, values in record.chunks(names):
            writer.writerows(zip(times.tolist(), *_columns(values), strict=True))


def _columns(values: Values) -> Iterator[list[str]]:
    yield from ([_text(value) for value in column] for column in values.T.tolist())


def _text(value: float) -> str:
    """The shortest text that reads back as the same number; nothing for NaN, which is no value."""
    return "" if value != value else repr(value).removesuffix(".0")
