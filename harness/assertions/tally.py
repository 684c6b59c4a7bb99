"""A figure of one opening of the scope, worked out stretch by stretch.

A tally never says more than it knows: the figure is at least `least` and at most `most`, whatever is still
to come and whatever missing figures were. Once the scope has closed and nothing was missing the two are one.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from .arrays import Floats, Truths, np
from .conditions import missing_from
from .grid import UNKNOWN, Grid, interleave
from .kinds import Kind
from .numbers import Number


@dataclass(frozen=True)
class Bound:
    """What a figure may be at most (`upper`) or must be at least, in the figure's unit."""

    value: float
    upper: bool


class Tally(ABC):
    """What a figure comes to in one opening of the scope.

    Attributes
    ----------
    least, most : float
        The figure is within these, as far as is certain by now.
    moment : float
        The moment that made it what it is; NaN: the end of the opening. [ms]
    seen : int
        How often what it speaks of came; 0: the opening shows nothing.
    missing : str
        What was missing, for a verdict's note.
    open_end : str
        Why it has no one value although the scope has closed.
    """

    least = 0.0
    most = math.inf
    moment = math.nan
    seen = 1
    missing = ""
    open_end = ""

    def __init__(self, opened_ms: float) -> None:
        self.opened_ms = opened_ms

    @abstractmethod
    def take(self, grid: Grid, first: int, last: int) -> None:
        """Take the elements `first` to `last`, all inside the opening."""

    @abstractmethod
    def close(self, at_ms: float) -> None:
        """The scope has closed."""

    def _miss(self, grid: Grid, unknown: Any, *parts: Any) -> None:
        if not self.missing and unknown.any():
            self.missing = missing_from(grid, unknown, *parts)

    def _miss_truth(self, grid: Grid, first: int, last: int, *conditions: Any) -> None:
        for condition in conditions:
            self._miss(grid, _only(condition.truth(grid) == UNKNOWN, first, last), condition)

    def _miss_number(self, grid: Grid, first: int, last: int, number: Number) -> None:
        start, end = number.line(grid)
        unknown = interleave(np.isnan(start), np.isnan(start + end)).astype(bool)
        self._miss(grid, _only(unknown, first, last), number)


@dataclass(frozen=True)
class Figure:
    """A figure as it is stated: its kind, what a grid must be cut for, and a tally for an opening."""

    kind: Kind
    parts: tuple[Any, ...]
    begin: Callable[[float], Tally]

    def cut(self, grid: Grid) -> Grid:
        """`grid` cut so that the tally can work on it."""
        for part in self.parts:
            grid = part.cut(grid)
        return grid


def _only(where: Any, first: int, last: int) -> Any:
    inside = np.zeros(len(where), bool)
    inside[first : last + 1] = where[first : last + 1]
    return inside


def trail(grid: Grid, number: Number, first: int, last: int) -> tuple[Floats, Floats]:
    """Moments and values of a number along the elements `first` to `last`: where pieces start and end."""
    start, end = number.line(grid)
    low, high = first // 2, last // 2 + 1
    moments, values = np.empty(2 * (high - low)), np.empty(2 * (high - low))
    moments[0::2], moments[1::2] = grid.edges[low:high], grid.edges[low + 1 : high + 1]
    values[0::2], values[1::2] = start[low:high], end[low:high]
    count = len(values) if last % 2 else len(values) - 1
    return moments[:count], values[:count]


def first_of(truth: Truths, level: int, first: int, last: int) -> int | None:
    """The first element from `first` to `last` with this truth."""
    found = np.flatnonzero(truth[first : last + 1] == level)
    return first + int(found[0]) if len(found) else None
