"""Figures of merit of a number: how far off, for how long, how fast."""

from __future__ import annotations

import math

from .arrays import np
from .conditions import Condition
from .grid import NO, YES, Grid, begins, ends
from .numbers import Number
from .tally import Tally, first_of, trail
from .words import NOT_SETTLED, NOT_THERE


class Peak(Tally):
    """The largest of a number, not less than 0; with `reach`, from the moment on at which it is first 0.

    It has been 0 as soon as it has been on both sides of it: what jumps past 0 has reached it.
    """

    def __init__(self, opened_ms: float, number: Number, reach: tuple[Condition, ...] = ()) -> None:
        super().__init__(opened_ms)
        self._number, self._reach = number, reach
        self._waiting = list(reach)
        self.seen = 0 if reach else 1

    def take(self, grid: Grid, first: int, last: int) -> None:
        self._miss_number(grid, first, last, self._number)
        start: int | None = first
        if self._waiting:
            start = self._reached(grid, first, last)
        if start is None:
            return
        moments, values = trail(grid, self._number, start, last)
        known = np.where(np.isnan(values), -math.inf, values)
        at = int(known.argmax())
        if known[at] > self.least:
            self.least, self.moment = float(known[at]), float(moments[at])

    def _reached(self, grid: Grid, first: int, last: int) -> int | None:
        """The element at which the last of the sides it waits for is seen."""
        seen = {side: first_of(side.truth(grid), YES, first, last) for side in self._waiting}
        self._waiting = [side for side, at in seen.items() if at is None]
        if self._waiting:
            return None
        self.seen = 1
        return max(at for at in seen.values() if at is not None)

    def close(self, at_ms: float) -> None:
        if not self.missing:
            self.most = self.least
        elif not self.seen:
            self.seen = 1  # It may have been reached while the figure was missing.


class Integral(Tally):
    """The integral over time of a number that is never negative; `weighed` by the time since the opening.

    Exact for straight lines: of a trapezium, and of a straight line times the time.
    """

    def __init__(self, opened_ms: float, number: Number, weighed: bool) -> None:
        super().__init__(opened_ms)
        self._number, self._weighed = number, weighed

    def take(self, grid: Grid, first: int, last: int) -> None:
        self._miss_number(grid, first, last, self._number)
        pieces = slice(first // 2, (last + 1) // 2)
        a, b = (line[pieces] for line in self._number.line(grid))
        begin = (grid.points[pieces] - self.opened_ms) / 1000.0
        end = (grid.edges[1:][pieces] - self.opened_ms) / 1000.0
        areas = (a + b) / 2.0
        if self._weighed:
            areas = (a * (2.0 * begin + end) + b * (begin + 2.0 * end)) / 6.0
        areas = areas * (end - begin)
        self.least += float(areas[~np.isnan(areas)].sum())

    def close(self, at_ms: float) -> None:
        if not self.missing:
            self.most = self.least


class Settling(Tally):
    """From the opening to the moment after which a condition (within the band) stays true. [s]"""

    def __init__(self, opened_ms: float, within: Condition) -> None:
        super().__init__(opened_ms)
        self._within = within
        self._possibly = opened_ms
        self._outside = False

    def take(self, grid: Grid, first: int, last: int) -> None:
        self._miss_truth(grid, first, last, self._within)
        truth = self._within.truth(grid)[first : last + 1]
        out, unsure = np.flatnonzero(truth == NO), np.flatnonzero(truth != YES)
        if len(out):
            self.moment = ends(grid.edges, first + int(out[-1]))
            self.least = (self.moment - self.opened_ms) / 1000.0
        if len(unsure):
            self._possibly = ends(grid.edges, first + int(unsure[-1]))
        self._outside = bool(truth[-1] != YES)

    def close(self, at_ms: float) -> None:
        if self._outside:
            self.open_end = NOT_SETTLED
        else:
            self.most = (self._possibly - self.opened_ms) / 1000.0
        if math.isnan(self.moment):
            self.moment = self.opened_ms


class Ramp(Tally):
    """Mean rate between the last moment at the one end and the first moment thereafter at the other.

    `before` holds up to the one end, `there` from the other one on; `span` is the distance. [unit/s]
    """

    def __init__(self, opened_ms: float, before: Condition, there: Condition, span: float) -> None:
        super().__init__(opened_ms)
        self._before, self._there, self._span = before, there, span
        self._left = math.nan
        self.seen = 0

    def take(self, grid: Grid, first: int, last: int) -> None:
        if not math.isnan(self.moment):
            return
        before, there = self._before.truth(grid), self._there.truth(grid)
        start = first if self.seen else first_of(before, YES, first, last)
        arrived = None if start is None else first_of(there, YES, start, last)
        stop = last if arrived is None else arrived
        self._miss_truth(grid, first, stop, self._before, self._there)
        left = np.flatnonzero(before[first : stop + 1] == YES)
        if len(left):
            self._left, self.seen = ends(grid.edges, first + int(left[-1])), 1
        if arrived is not None:
            self._settle(begins(grid.edges, arrived))

    def _settle(self, at_ms: float) -> None:
        self.moment = at_ms
        rate = self._span * 1000.0 / (at_ms - self._left) if at_ms > self._left else math.inf
        # Missing figures may hide an earlier arrival or a later departure.
        self.least, self.most = (0.0, math.inf) if self.missing else (rate, rate)

    def close(self, at_ms: float) -> None:
        if self.missing:
            self.seen = 1
        elif math.isnan(self.moment) and self.seen:
            self.open_end = NOT_THERE
            self.most = self._span * 1000.0 / (at_ms - self._left) if at_ms > self._left else math.inf
