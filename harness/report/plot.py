"""Curves in the terminal: dots of braille with axes, or plain characters where it knows no others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from harness.report.figures import number

Array = NDArray[np.float64]
BLANK = 0x2800
#: The bit of each of a character's dots, by row (4) and column (2).
DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
MARKS = ("*", "o", "+")
_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


def plot(
    x: Array, curves: Sequence[Array], *, width: int = 72, height: int = 14, ascii_only: bool = False,
    x_unit: str = "", y_unit: str = "",
) -> Iterator[str]:  # fmt: skip
    """Lines of text: `curves` over `x` with a scale on both axes.

    Parameters
    ----------
    x : shape (n,), rising; curves : each shape (n,), NaN where there is none.
    width, height : of the whole and of the field, in characters.
    ascii_only : marks `*`, `o`, `+` by curve; a later curve covers an earlier one.
    """
    finite = np.concatenate([curve[np.isfinite(curve)] for curve in curves])
    if not finite.size:
        return
    ticks = _ticks(float(finite.min()), float(finite.max()), max(3, height // 4))
    low, high = min(ticks[0], float(finite.min())), max(ticks[-1], float(finite.max()))
    labels = {_row(tick, low, high, height): number(tick) for tick in ticks}
    margin = max(len(label) for label in labels.values())
    columns = max(8, width - margin - 2)
    rows = (_plain if ascii_only else _braille)(x, curves, low, high, columns, height)
    axis, tick_mark, corner, line = ("|", "+", "+", "-") if ascii_only else ("│", "┤", "└", "─")
    yield f"{y_unit:>{margin}}"
    for number_, row in enumerate(rows):
        label = labels.get(number_)
        yield f"{label or '':>{margin}} {tick_mark if label is not None else axis}{row}".rstrip()
    yield f"{'':>{margin}} {corner}{line * columns}"
    yield f"{'':>{margin}}  {_x_labels(x, columns, x_unit)}".rstrip()


def _ticks(low: float, high: float, count: int) -> list[float]:
    span = (high - low) or max(abs(high), 1.0)
    rough = span / count
    power = 10.0 ** np.floor(np.log10(rough))
    step = float(power * next(one for one in _STEPS if one * power >= rough * 0.999))
    first = np.ceil(low / step - 1e-9) * step
    return [float(round(first + i * step, 10)) for i in range(int((high - first) / step + 1e-9) + 1)]


def _row(value: float, low: float, high: float, height: int) -> int:
    share = (value - low) / ((high - low) or 1.0)
    return round((1.0 - share) * (height - 1))


def _places(
    x: Array, curve: Array, low: float, high: float, wide: int, tall: int
) -> Iterator[tuple[int, int]]:
    """Column and row of each dot: for each column from the least to the largest value in it."""
    column = ((x - x[0]) / ((x[-1] - x[0]) or 1.0) * (wide - 1)).round().astype(int)
    last = None
    for at in np.unique(column):
        values = curve[column == at]
        values = values[np.isfinite(values)]
        if not values.size:
            last = None
            continue
        ends = [_row(float(one), low, high, tall) for one in (values.max(), values.min())]
        if last is not None:  # no gaps where it is steep
            ends = [min(ends[0], last[1] + 1), max(ends[1], last[0] - 1)]
        for row in range(ends[0], ends[1] + 1):
            yield int(at), row
        last = (ends[0], ends[1])


def _braille(
    x: Array, curves: Sequence[Array], low: float, high: float, columns: int, height: int
) -> list[str]:
    cells = np.full((height, columns), BLANK)
    for curve in curves:
        for column, row in _places(x, curve, low, high, 2 * columns, 4 * height):
            cells[row // 4, column // 2] |= DOTS[row % 4][column % 2]
    return ["".join(chr(cell) if cell != BLANK else " " for cell in row) for row in cells]


def _plain(
    x: Array, curves: Sequence[Array], low: float, high: float, columns: int, height: int
) -> list[str]:
    cells = [[" "] * columns for _ in range(height)]
    for curve, mark in zip(curves, MARKS, strict=False):
        for column, row in _places(x, curve, low, high, columns, height):
            cells[row][column] = mark
    return ["".join(row) for row in cells]


def _x_labels(x: Array, columns: int, unit: str) -> str:
    """Ticks at the places of their values; the unit at the end."""
    line = [" "] * columns
    room = columns - len(unit) - 1
    for tick in _ticks(float(x[0]), float(x[-1]), 6):
        label = number(tick) if tick else "0"
        at = round((tick - x[0]) / ((x[-1] - x[0]) or 1.0) * (columns - 1))
        at = max(0, at - len(label) // 2)
        if at + len(label) <= room:
            line[at : at + len(label)] = label
    return f"{''.join(line[:room])} {unit}".rstrip()
