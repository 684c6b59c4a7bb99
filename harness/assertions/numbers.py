"""The numbers of an expression: signals, literals, arithmetic, rates.

Every number is a straight line inside each piece of a grid. `abs`, `min` and `max` bend where their
arguments cross, so the grid is cut there; a product or quotient of two signals is taken as straight
between rows.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from .arrays import Floats, np
from .grid import Grid, Line
from .kinds import Kind


@dataclass
class Look:
    """The newest row alone, for judging one row at a time.

    `get` reads a signal of the row, `past` is what conditions with a past keep from row to row.
    """

    get: Callable[[str], float]
    time_ms: int
    past: dict[Any, Any]


class Number(ABC):
    """A number that changes over the run. `constant` is its value where it never does."""

    kind: Kind
    constant: float | None = None
    children: tuple[Any, ...] = ()

    def line(self, grid: Grid) -> Line:
        """Its value over the pieces of `grid`; NaN where it is not known."""
        found: Line | None = grid.memo.get(self)
        if found is None:
            found = grid.memo[self] = self._line(grid)
        return found

    def cut(self, grid: Grid) -> Grid:
        """`grid` cut where this number bends."""
        for child in self.children:
            grid = child.cut(grid)
        return grid

    @abstractmethod
    def _line(self, grid: Grid) -> Line: ...

    @abstractmethod
    def now(self, look: Look) -> float:
        """Its value in the newest row."""


class Literal(Number):
    """A number written in the expression."""

    constant: float

    def __init__(self, value: float, kind: Kind) -> None:
        self.constant = value
        self.kind = kind

    def _line(self, grid: Grid) -> Line:
        filled: Floats = np.full(grid.pieces, self.constant, np.float64)
        return filled, filled

    def now(self, look: Look) -> float:
        return float(self.constant)


class Signal(Number):
    """A recorded signal."""

    def __init__(self, name: str, kind: Kind) -> None:
        self.name = name
        self.kind = kind

    def line(self, grid: Grid) -> Line:
        return super().line(grid) if grid.edges is not grid.stretch.edges else grid.line(self.name)

    def _line(self, grid: Grid) -> Line:
        return grid.line(self.name)

    def now(self, look: Look) -> float:
        return look.get(self.name)


class Linear(Number):
    """`factor * number + offset`: a sign, or a change of unit."""

    def __init__(self, inner: Number, factor: float, offset: float, kind: Kind) -> None:
        self.kind = kind
        self.children = (inner,)
        self._inner, self._factor, self._offset = inner, factor, offset
        self.negates = factor == -1.0 and offset == 0.0
        if inner.constant is not None:
            self.constant = self._of(inner.constant)

    def _of(self, value: Any) -> Any:
        return value * self._factor + self._offset

    def _line(self, grid: Grid) -> Line:
        start, end = self._inner.line(grid)
        first = self._of(start)
        return first, first if start is end else self._of(end)

    def now(self, look: Look) -> float:
        return float(self._of(self._inner.now(look)))


class Pair(Number):
    """Two numbers joined by `+ - * /`, `min` or `max`; the last two bend where they cross."""

    def __init__(self, sign: str, left: Number, right: Number, kind: Kind) -> None:
        self.kind = kind
        self.children = (left, right)
        self._left, self._right = left, right
        self.sign = sign
        self._bends = sign in ("min", "max")
        self._divides = sign == "/"
        if left.constant is not None and right.constant is not None:
            self.constant = self._scalar(left.constant, right.constant)

    @cached_property
    def _join(self) -> Any:
        return getattr(np, _JOINS[self.sign])  # not when it is made, which is before the first array

    def cut(self, grid: Grid) -> Grid:
        grid = super().cut(grid)
        if not self._bends:
            return grid
        (a, b), (c, d) = self._left.line(grid), self._right.line(grid)
        return grid.cut(grid.crossings(a - c, b - d))

    def _line(self, grid: Grid) -> Line:
        (a, b), (c, d) = self._operands(grid)
        start = self._whole(a, c)
        return start, start if a is b and c is d else self._whole(b, d)

    def _operands(self, grid: Grid) -> tuple[Any, Any]:
        """Lines of both; a literal stays one number, which numpy spreads."""
        left, right = self._left, self._right
        if left.constant is not None:
            return (left.constant, left.constant), right.line(grid)
        if right.constant is not None:
            value = np.float64(right.constant)
            return left.line(grid), (value, value)
        return left.line(grid), right.line(grid)

    def _whole(self, left: Any, right: Any) -> Any:
        if not self._divides:
            return self._join(left, right)
        with np.errstate(all="ignore"):
            result = self._join(left, right)
        # Dividing by nothing gives no figure at all.
        return np.where(np.isfinite(result), result, np.nan)

    def _scalar(self, left: float, right: float) -> float:
        value = float(self._whole(np.float64(left), np.float64(right)))
        return value

    def now(self, look: Look) -> float:
        return self._scalar(self._left.now(look), self._right.now(look))


_JOINS = {"+": "add", "-": "subtract", "*": "multiply", "/": "divide", "min": "minimum", "max": "maximum"}
"""The ufunc of each sign."""


class Absolute(Number):
    """`abs(x)`: bends where x passes zero."""

    def __init__(self, inner: Number) -> None:
        self.kind = inner.kind
        self.children = (inner,)
        self._inner = inner
        if inner.constant is not None:
            self.constant = abs(inner.constant)

    def cut(self, grid: Grid) -> Grid:
        grid = super().cut(grid)
        return grid.cut(grid.crossings(*self._inner.line(grid)))

    def _line(self, grid: Grid) -> Line:
        start, end = self._inner.line(grid)
        return np.abs(start), np.abs(end)

    def now(self, look: Look) -> float:
        return abs(self._inner.now(look))


class Rate(Number):
    """`rate(x)`: the slope from each row to the next, per second.

    What jumps at a row has the slope before and after it, not an endless one. At the end of the run,
    where no next row follows, the slope before stays.
    """

    def __init__(self, inner: Number, kind: Kind) -> None:
        self.kind = kind
        self.children = (inner,)
        self._inner = inner

    def cut(self, grid: Grid) -> Grid:
        return grid

    def _line(self, grid: Grid) -> Line:
        slope = grid.steps(self._slopes(grid.stretch.whole()))
        return slope, slope

    def _slopes(self, whole: Grid) -> Floats:
        start, end = self._inner.line(whole)
        length = np.diff(whole.edges) / 1000.0
        if whole.stretch.closing:
            before = whole.stretch.memory.get(self, math.nan)
            return np.full(whole.pieces, before)
        slopes: Floats = (end - start) / length
        return slopes

    def remember(self, whole: Grid) -> float:
        """The last slope of a stretch, for the end of the run."""
        return float(self._slopes(whole)[-1])

    def now(self, look: Look) -> float:
        value = self._inner.now(look)
        before, when, slope = look.past.get(self, (value, look.time_ms, math.nan))
        if look.time_ms > when:
            slope = (value - before) * 1000.0 / (look.time_ms - when)
        look.past[self] = (value, look.time_ms, slope)
        return float(slope)
