"""The log of a rig: a table of time, heat and temperatures, with units in its head.

    time [s], heat [%], tank [degC], coil [degC]
    0, 100, 19.8, 19.9
    10, 100, 19.9,

Columns are separated by commas, semicolons or tabs; with semicolons and tabs a comma in a number is a
decimal one. A unit stands in brackets or parentheses behind the name. `heat` is the command to a valve or
relay and holds from its row to the next; where it is heat that really flowed, by a flame signal or a current,
the column is `heat_seen`. Time may be a date with a clock time, as ISO 8601 writes it. An empty cell is a
reading that is missing. Lines that begin with # are remarks.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from harness.errors import FileMistakesError, Mistake
from harness.quantity import OTHER_SPELLINGS, UNITS, Quantity, QuantityError, clip, find_unit

Array = NDArray[np.float64]

TIME, HEAT, SEEN = "time", "heat", "heat_seen"
ALWAYS_THERE = (TIME, HEAT, SEEN)
SWITCH_UNITS = ("bool", "1")
LARGEST_BYTES = 100_000_000
"""A reading every second of `LONGEST_S`, and some to spare."""
COLDEST, HOTTEST = -100.0, 3000.0
"""What a probe can read; those that are not found send less, such as -127 degC. [degC]"""
LONGEST_S = 31 * 86_400.0
MOST_MISTAKES = 20
_HEAD = re.compile(r"\s*(.*?)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*")


@dataclass(frozen=True)
class RigLog:
    """A log, read.

    Attributes
    ----------
    file : where it stood.
    time_s : shape (n,), rising from 0. [s]
    heat : shape (n,), from a row's time to the next; share of the full heat, 0 to 1.
    seen : whether that is heat that really flowed; else it is what was commanded.
    columns : name -> shape (n,), degC for temperatures, 0 or 1 for switches; NaN where nothing was read.
    units : name -> `degC` or `bool`.
    """

    file: str
    time_s: Array
    heat: Array
    seen: bool
    columns: Mapping[str, Array]
    units: Mapping[str, str]


@dataclass(frozen=True)
class _Column:
    name: str
    unit: str
    line: int


def read_log(file: str, units: Mapping[str, str] | None = None) -> RigLog:
    """The log in a file; `units` gives a column's unit where its head does not.

    Raises
    ------
    FileMistakesError
        With the line of each mistake.
    """
    rows = _lines(file)
    if len(rows) < 4:
        raise FileMistakesError([Mistake(file, 0, "holds no log: a head and three rows are the least.")])
    separator = _separator(rows[0][1])
    line, head = rows.pop(0)
    columns = _head(file, line, _cells(file, line, head, separator), dict(units or {}))
    lines = [number for number, _ in rows]
    # Cut up one by one: the cells of a long log take many times the room of its text.
    cells = (_cells(file, number, text, separator) for number, text in rows)
    return _made(file, columns, _numbers(file, columns, lines, cells, separator != ","), lines)


def _lines(file: str) -> list[tuple[int, str]]:
    path = Path(file)
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise FileMistakesError([Mistake(file, 0, "is larger than 100 MB. Thin it out.")])
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise FileMistakesError([Mistake(file, 0, f"cannot be read: {error.strerror}.")]) from None
    except UnicodeDecodeError as error:
        what = f"is no text in UTF-8 (byte {error.start}). Save it as CSV in UTF-8."
        raise FileMistakesError([Mistake(file, 0, what)]) from None
    numbered = enumerate(text.splitlines(), 1)
    return [(number, line) for number, line in numbered if line.strip() and not line.lstrip().startswith("#")]


def _cells(file: str, line: int, text: str, separator: str) -> list[str]:
    """The cells of one line; a quotation mark that is not closed goes no further than its line."""
    try:
        return next(csv.reader([text], delimiter=separator, skipinitialspace=True))
    except csv.Error as error:
        raise FileMistakesError([Mistake(file, line, f"is no row of a table: {error}.")]) from None


def _separator(head: str) -> str:
    return max((";", "\t", ","), key=lambda one: (head.count(one), one != ","))


def _head(file: str, line: int, cells: Sequence[str], units: dict[str, str]) -> list[_Column]:
    mistakes: list[Mistake] = []
    columns: list[_Column] = []
    for cell in cells:
        match = _HEAD.fullmatch(cell)
        name, unit = match.groups() if match else (cell, None)
        given = units.pop(name, None)
        if given and unit and OTHER_SPELLINGS.get(given, given) != OTHER_SPELLINGS.get(unit, unit):
            what = f"column {clip(name)} is in {clip(unit)} here. Leave --unit {name}={given} out."
            mistakes.append(Mistake(file, line, what))
        unit = given or unit
        if name in [column.name for column in columns]:
            what = f"has two columns {clip(name)}. Give each a name of its own."
            mistakes.append(Mistake(file, line, what))
        if name == TIME and unit in (None, "s", "min", "h", "ms"):
            columns.append(_Column(name, unit or "", line))
        elif not unit:
            usual = "%" if name in (HEAT, SEEN) else "degC"
            mend = f"Write it behind, such as {clip(f'{name} [{usual}]')}, or give --unit NAME={usual}."
            mistakes.append(Mistake(file, line, f"column {clip(name)} has no unit. {mend}"))
        else:
            try:
                columns.append(_Column(name, _unit(name, unit), line))
            except QuantityError as error:
                mistakes.append(Mistake(file, line, f"column {clip(name)}: {error}."))
    known = [column.name for column in columns]
    there = f"There are: {', '.join(known)}."
    if not mistakes and TIME not in known:
        mistakes.append(Mistake(file, line, f"has no column '{TIME}'. {there}"))
    if not mistakes and (HEAT in known) == (SEEN in known):
        what = f"wants a column '{HEAT}', as commanded, or '{SEEN}', as it flowed; one of them. {there}"
        mistakes.append(Mistake(file, line, what))
    for name in units:
        mistakes.append(Mistake(file, line, f"--unit {name}: there is no such column. {there}"))
    if mistakes:
        raise FileMistakesError(mistakes)
    return columns


def _unit(name: str, unit: str) -> str:
    if unit in SWITCH_UNITS:
        return unit
    found = find_unit(unit)
    wanted = "ratio" if name in (HEAT, SEEN) else "time" if name == TIME else "temperature"
    if found.dimension != wanted:
        called = {"time": f", or call the column '{TIME}'", "ratio": f", or call the column '{HEAT}'"}
        mend = called.get(found.dimension, "")
        raise QuantityError(f"{clip(unit)} measures {found.dimension}; {wanted} is wanted{mend}")
    return found.symbol


def _numbers(
    file: str, columns: Sequence[_Column], lines: Sequence[int], cells: Iterable[Sequence[str]], comma: bool
) -> Array:
    """All cells as numbers, shape (rows, columns), in the columns' own units; NaN for an empty one."""
    made, mistakes = np.full((len(lines), len(columns)), np.nan), []
    for at, (line, row) in enumerate(zip(lines, cells, strict=True)):
        if len(row) != len(columns):
            mistakes.append(Mistake(file, line, f"has {len(row)} cells; the head has {len(columns)}."))
        for place, (text, column) in enumerate(zip(row, columns, strict=False)):
            try:
                made[at, place] = _number(text, column, comma)
            except (ValueError, OverflowError):
                wanted = "a time" if column.name == TIME else f"a number in {column.unit}"
                mistakes.append(Mistake(file, line, f"column '{column.name}': {clip(text)} is not {wanted}."))
        if len(mistakes) >= MOST_MISTAKES:
            break
    if mistakes:
        raise FileMistakesError(mistakes[:MOST_MISTAKES])
    return made


def _number(text: str, column: _Column, comma: bool) -> float:
    text = text.strip()
    if not text and column.name not in ALWAYS_THERE:
        return float("nan")
    if column.name == TIME and not column.unit:
        return datetime.fromisoformat(text).timestamp()
    value = float(text.replace(",", ".") if comma else text)
    if not np.isfinite(value):
        if column.name in ALWAYS_THERE:
            raise ValueError(text)
        return float("nan")
    return value


def _made(file: str, columns: Sequence[_Column], numbers: Array, lines: Sequence[int]) -> RigLog:
    by_name = {column.name: (column, numbers[:, at]) for at, column in enumerate(columns)}
    time = _in_base(*by_name.pop(TIME), "s")
    back = np.flatnonzero(np.diff(time) <= 0.0)
    if len(back):
        what = "time does not go on from the row before. Sort the rows and leave doubles out."
        raise FileMistakesError([Mistake(file, lines[int(back[0]) + 1], what)])
    if time[-1] - time[0] > LONGEST_S:
        what = f"lasts {(time[-1] - time[0]) / 86_400.0:.3g} days; {LONGEST_S / 86_400.0:g} are the most."
        raise FileMistakesError([Mistake(file, lines[-1], f"{what} See whether time is in its unit.")])
    seen = SEEN in by_name
    heat = _in_base(*by_name.pop(SEEN if seen else HEAT), "1")
    wrong = np.flatnonzero((heat < 0.0) | (heat > 1.0))
    if len(wrong):
        what = "heat is outside 0 to full. Give it in %, permille, or as 0 and 1."
        raise FileMistakesError([Mistake(file, lines[int(wrong[0])], what)])
    switches = {name for name, (column, _) in by_name.items() if column.unit in SWITCH_UNITS}
    read = {
        name: values if name in switches else _in_base(column, values, "degC")
        for name, (column, values) in by_name.items()
    }
    impossible = list(_impossible(file, read, switches, lines))
    if impossible:
        raise FileMistakesError(impossible[:MOST_MISTAKES])
    return RigLog(
        file=file,
        time_s=time - time[0],
        heat=heat,
        seen=seen,
        columns=read,
        units={name: "bool" if name in switches else "degC" for name in by_name},
    )


def _impossible(
    file: str, read: Mapping[str, Array], switches: Collection[str], lines: Sequence[int]
) -> Iterator[Mistake]:
    """Readings that no probe gives, and switches that are neither on nor off."""
    for name, values in read.items():
        if name in switches:
            wrong = np.isfinite(values) & (values != 0.0) & (values != 1.0)
            rule = "is neither 0 nor 1. Write 1 where it is on, 0 where it is off"
        else:
            wrong = (values < COLDEST) | (values > HOTTEST)
            rule = "is what no probe reads, but one that is not found sends. Leave the cell empty"
        for at in np.flatnonzero(wrong)[:MOST_MISTAKES].tolist():
            unit = "" if name in switches else " degC"
            yield Mistake(file, lines[at], f"column {clip(name)}: {values[at]:.4g}{unit} {rule}.")


def _in_base(column: _Column, values: Array, unit: str) -> Array:
    """The values in `unit`, by the table of units."""
    if not column.unit or column.unit in SWITCH_UNITS or column.unit == unit:
        return values
    here, there = UNITS[column.unit], UNITS[unit]
    assert Quantity(1.0, column.unit).dimension == there.dimension
    return np.asarray((values + here.offset) * here.factor / there.factor - there.offset)
