"""The conditions of an expression: comparisons, `and`, `or`, `not`, each with a truth and a margin.

Truth is three-valued (Kleene 1952): what a missing figure decides is UNKNOWN, and `NO and UNKNOWN` is NO.
The margin is the quantitative semantics of signal temporal logic (Donzé and Maler 2010): a comparison's is
the distance to its bound, a bare bool's is endless, `and` takes the smallest, `or` the largest, `not` the
negative. It is NaN where the truth is UNKNOWN.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from functools import cached_property
from typing import Any

from .arrays import Flags, Floats, Truths, np
from .grid import NO, UNKNOWN, YES, Grid, Line, begins, interleave
from .numbers import Look, Number, Signal
from .words import missing

INF = math.inf


class Condition(ABC):
    """A condition over the run.

    `measured` says whether a comparison in it gives a margin, `labels` in which units.
    """

    children: tuple[Any, ...] = ()
    measured = False
    labels: frozenset[str] = frozenset()

    def truth(self, grid: Grid) -> Truths:
        """Its truth at the points and inside the pieces of a grid cut for it."""
        found: Truths | None = grid.memo.get(self)
        if found is None:
            found = grid.memo[self] = self._truth(grid)
        return found

    def margin(self, grid: Grid) -> Line:
        """Its margin over the pieces: at their points, and what it comes up to at their ends."""
        key = (self, "margin")
        found: Line | None = grid.memo.get(key)
        if found is None:
            found = grid.memo[key] = self._margin(grid)
        return found

    def cut(self, grid: Grid, exact: bool = True) -> Grid:
        """`grid` cut where the margin bends and, if `exact`, where the truth changes."""
        for child in self.children:
            grid = child.cut(grid, exact)
        return grid

    @abstractmethod
    def _truth(self, grid: Grid) -> Truths: ...

    def _margin(self, grid: Grid) -> Line:
        truth = self.truth(grid)
        endless = np.array([math.nan, INF, -INF])  # by UNKNOWN (0), YES (1), NO (-1)
        return endless[truth[0::2]], endless[truth[1::2]]

    @abstractmethod
    def now(self, look: Look) -> int:
        """Its truth in the newest row."""

    def unit_at(self, grid: Grid, piece: int, end: bool) -> str:
        """Unit of the comparison whose distance is the margin there."""
        return next(iter(self.labels), "")


def missing_from(grid: Grid, unknown: Flags, *parts: Any) -> str:
    """What is missing at the first unknown element, for a verdict's note."""
    element = int(unknown.argmax())
    return missing(begins(grid.edges, element), missing_at(grid, element, *parts))


def missing_at(grid: Grid, element: int, *parts: Any) -> list[str]:
    """Signals in these conditions that have no figure at an element of the grid, by name."""
    found: set[str] = set()
    for part in parts:
        if isinstance(part, Signal):
            start, end = part.line(grid)
            piece = element // 2
            if math.isnan(start[piece]) or (element % 2 and math.isnan(end[piece])):
                found.add(part.name)
        found.update(missing_at(grid, element, *part.children))
    return sorted(found)


def _signs(true: Any, values: Any) -> Any:
    """YES where `true`, else NO; UNKNOWN where the value is NaN."""
    unknown = np.isnan(values)
    signs = np.multiply(true, 2, dtype=np.int8) - np.int8(1)
    return np.where(unknown, UNKNOWN, signs) if unknown.any() else signs


class Less(Condition):
    """`left < right` or, with `touching`, `left <= right`."""

    measured = True

    def __init__(self, left: Number, right: Number, touching: bool, gap: Number) -> None:
        """`gap` is `right - left`, in the unit of the margin."""
        self.children = (left, right)
        self._gap, self._touching = gap, touching
        self.labels = frozenset({gap.kind.label})

    def cut(self, grid: Grid, exact: bool = True) -> Grid:
        grid = self._gap.cut(grid)
        if not exact:
            return grid
        start, end = self._gap.line(grid)
        return grid if start is end else grid.cut(grid.crossings(start, end))

    def _truth(self, grid: Grid) -> Truths:
        start, end = self._gap.line(grid)
        points = self._of(start)
        return interleave(points, points if start is end else self._of(start + end))

    def _of(self, gaps: Any) -> Any:
        return _signs(gaps >= 0.0 if self._touching else gaps > 0.0, gaps)

    def _margin(self, grid: Grid) -> Line:
        return self._gap.line(grid)

    def now(self, look: Look) -> int:
        return int(self._of(np.float64(self._gap.now(look))))


class Equal(Condition):
    """`left == right` of numbers that jump; with `differ`, `left != right`. It has no distance."""

    def __init__(self, left: Number, right: Number, differ: bool, gap: Number) -> None:
        self.children = (left, right)
        self._gap = gap
        self._sign = -1 if differ else 1

    def cut(self, grid: Grid, exact: bool = True) -> Grid:
        return self._gap.cut(grid)

    def _truth(self, grid: Grid) -> Truths:
        start, _ = self._gap.line(grid)
        points = self._of(start)
        return interleave(points, points)

    def _of(self, gaps: Any) -> Any:
        return self._sign * _signs(gaps == 0.0, gaps)

    def now(self, look: Look) -> int:
        return int(self._of(np.float64(self._gap.now(look))))


class Flag(Condition):
    """A bare bool signal: true where it is not 0."""

    def __init__(self, signal: Number) -> None:
        self.children = (signal,)
        self._signal = signal

    def cut(self, grid: Grid, exact: bool = True) -> Grid:
        return self._signal.cut(grid)

    def _truth(self, grid: Grid) -> Truths:
        start, _ = self._signal.line(grid)
        points = _flags(start)
        return interleave(points, points)

    def now(self, look: Look) -> int:
        return int(_flags(np.float64(self._signal.now(look))))


def _flags(values: Any) -> Any:
    return _signs(values != 0.0, values)


class Known(Condition):
    """`known(x)`: true where x has a figure. Never UNKNOWN itself."""

    def __init__(self, inner: Number) -> None:
        self.children = (inner,)
        self._inner = inner

    def cut(self, grid: Grid, exact: bool = True) -> Grid:
        return self._inner.cut(grid)

    def _truth(self, grid: Grid) -> Truths:
        start, end = self._inner.line(grid)
        return interleave(_known(start), _known(start + end))

    def now(self, look: Look) -> int:
        return int(_known(np.float64(self._inner.now(look))))


def _known(values: Any) -> Any:
    return np.where(np.isnan(values), NO, YES)


class Not(Condition):
    """`not C`: the opposite truth, unknown where C is; the margin changes its sign."""

    def __init__(self, inner: Condition) -> None:
        self.children = (inner,)
        self._inner = inner
        self.measured, self.labels = inner.measured, inner.labels

    def _truth(self, grid: Grid) -> Truths:
        return -self._inner.truth(grid)

    def _margin(self, grid: Grid) -> Line:
        start, end = self._inner.margin(grid)
        first = -start
        return first, first if start is end else -end

    def now(self, look: Look) -> int:
        return -self._inner.now(look)

    def unit_at(self, grid: Grid, piece: int, end: bool) -> str:
        return self._inner.unit_at(grid, piece, end)


class Both(Condition):
    """`left and right`, or `left or right` when `either`."""

    def __init__(self, left: Condition, right: Condition, either: bool) -> None:
        self.children = (left, right)
        self._left, self._right = left, right
        self.either = either
        self._sign = -1 if either else 1
        self.measured = left.measured or right.measured
        self.labels = left.labels | right.labels

    @cached_property
    def _join(self) -> Any:
        return np.maximum if self.either else np.minimum  # not when it is made, before the first array

    def cut(self, grid: Grid, exact: bool = True) -> Grid:
        grid = super().cut(grid, exact)
        if not (self._left.measured and self._right.measured):
            return grid
        (a, b), (c, d) = self._left.margin(grid), self._right.margin(grid)
        # Endless margins jump instead of crossing: their difference is NaN or endless and cuts nothing.
        with np.errstate(invalid="ignore"):
            return grid.cut(grid.crossings(_finite(a - c), _finite(b - d)))

    def _truth(self, grid: Grid) -> Truths:
        joined: Truths = self._join(self._left.truth(grid), self._right.truth(grid))
        return joined

    def _margin(self, grid: Grid) -> Line:
        (a, b), (c, d) = self._left.margin(grid), self._right.margin(grid)
        start = self._joined(a, c)
        return start, start if a is b and c is d else self._joined(b, d)

    def _joined(self, left: Floats, right: Floats) -> Floats:
        """The smaller (larger) margin; one alone where it decides although the other is unknown."""
        joined: Floats = self._join(left, right)
        unknown = np.isnan(joined)
        if unknown.any():
            alone = np.where(np.isnan(left), right, left)
            joined = np.where(unknown & (self._sign * alone <= 0.0), alone, joined)
        return joined

    def now(self, look: Look) -> int:
        left, right = self._left.now(look), self._right.now(look)
        return min(left, right) if self._sign > 0 else max(left, right)

    def unit_at(self, grid: Grid, piece: int, end: bool) -> str:
        if len(self.labels) < 2:
            return super().unit_at(grid, piece, end)
        left, right = (side.margin(grid)[end][piece] for side in (self._left, self._right))
        lower = self._sign * left <= self._sign * right or math.isnan(right)
        return (self._left if lower else self._right).unit_at(grid, piece, end)


def _finite(values: Floats) -> Floats:
    return np.where(np.isfinite(values), values, 0.0)
