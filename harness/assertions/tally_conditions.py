"""Figures of a condition: how often it came, how long it lasted each time."""

from __future__ import annotations

import math
from collections.abc import Iterator

from .arrays import np
from .conditions import Condition
from .grid import NO, UNKNOWN, YES, Grid, begins, ends, runs
from .tally import Bound, Tally


class Count(Tally):
    """How often a condition became true in the opening; true when it opened counts too. [count]"""

    def __init__(self, opened_ms: float, condition: Condition, bound: Bound) -> None:
        super().__init__(opened_ms)
        self._condition = condition
        self._decides = math.floor(bound.value) + 1 if bound.upper else math.ceil(bound.value)
        self._upper = bound.upper
        self._last = NO

    def take(self, grid: Grid, first: int, last: int) -> None:
        self._miss_truth(grid, first, last, self._condition)
        truth = self._condition.truth(grid)[first : last + 1]
        known = np.flatnonzero(truth != UNKNOWN)
        if len(known) == 0:
            return
        told = truth[known]
        before = np.concatenate(([self._last], told[:-1]))
        self._last = int(told[-1])
        for at in known[(told == YES) & (before != YES)].tolist():
            self.least += 1.0
            if self.least <= self._decides:
                self.moment = begins(grid.edges, first + at)

    def close(self, at_ms: float) -> None:
        if not self.missing:
            self.most = self.least
        if not self._upper and self.least < self._decides:
            self.moment = at_ms


class Longest(Tally):
    """The longest time for which a condition was true without a break, within the opening. [s]"""

    def __init__(self, opened_ms: float, condition: Condition, bound: Bound, each: bool = False) -> None:
        """`each`: an opening in which it was never true shows nothing."""
        super().__init__(opened_ms)
        self._condition, self._each = condition, each
        self._limit = bound.value if bound.upper else math.inf
        self._since: list[float | None] = [None, None]
        self._possibly = 0.0
        self.seen = 0 if each else 1

    def take(self, grid: Grid, first: int, last: int) -> None:
        self._miss_truth(grid, first, last, self._condition)
        for since, until, _ in self._spans(grid, first, last, UNKNOWN):
            self._possibly = max(self._possibly, (until - since) / 1000.0)
        for since, until, fresh in self._spans(grid, first, last, YES):
            self.seen += self._each and fresh
            self._lasted(since, until)

    def _lasted(self, since: float, until: float) -> None:
        lasted = (until - since) / 1000.0
        if lasted <= self.least and not math.isnan(self.moment):
            return
        if self.least <= self._limit:
            self.moment = min(until, since + self._limit * 1000.0)
        self.least = lasted

    def _spans(self, grid: Grid, first: int, last: int, level: int) -> Iterator[tuple[float, float, bool]]:
        """Since when and until when it is at least at a level, and whether that began in this stretch."""
        truth = self._condition.truth(grid)[first : last + 1]
        carried, self._since[level] = self._since[level], None
        for begin, end in runs(truth >= level):
            since = begins(grid.edges, first + begin) if begin or carried is None else carried
            yield since, ends(grid.edges, first + end), bool(begin) or carried is None
            if end == len(truth) - 1:
                self._since[level] = since

    def close(self, at_ms: float) -> None:
        self.most = self._possibly
        if self.missing:
            self.seen = max(self.seen, 1)


class Absent(Longest):
    """The longest time without a condition; an opening shorter than the bound shows nothing. [s]"""

    def close(self, at_ms: float) -> None:
        super().close(at_ms)
        self.seen = int(at_ms - self.opened_ms >= self._limit * 1000.0)


class Shortest(Tally):
    """The shortest time for which a condition was true, of those it began and ended in the opening. [s]"""

    def __init__(self, opened_ms: float, condition: Condition) -> None:
        super().__init__(opened_ms)
        self._condition = condition
        self._on = self._surely = self._has_been_off = False
        self._since: float | None = None
        self.seen = 0

    def take(self, grid: Grid, first: int, last: int) -> None:
        self._miss_truth(grid, first, last, self._condition)
        truth = self._condition.truth(grid)[first : last + 1]
        if truth[0] == NO:
            self._off(begins(grid.edges, first))
        for begin, end in runs(truth != NO):
            if not self._on:
                self._since = begins(grid.edges, first + begin) if self._has_been_off else None
                self._on, self._surely = True, False
            self._surely |= bool((truth[begin : end + 1] == YES).any())
            if end < len(truth) - 1:
                self._off(ends(grid.edges, first + end))

    def _off(self, at_ms: float) -> None:
        if self._on and self._surely and self._since is not None:
            self.seen += 1
            lasted = (at_ms - self._since) / 1000.0
            if lasted < self.most:
                self.most, self.moment = lasted, at_ms
        self._on, self._has_been_off = False, True

    def close(self, at_ms: float) -> None:
        if self.missing:
            self.seen = max(self.seen, 1)
        elif self.seen:
            self.least = self.most
