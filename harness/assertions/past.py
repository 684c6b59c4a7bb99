"""Conditions that look back: moments, edges, `held`, and the latches of scopes.

Each remembers across stretches only what its formula in README.md needs (a truth, a moment), so memory does
not grow with the run.
"""

from __future__ import annotations

import math
from abc import abstractmethod
from typing import Any

from .arrays import Flags, Truths, np
from .conditions import Condition
from .grid import NO, TINY_MS, UNKNOWN, YES, Grid, begins, interleave, runs
from .numbers import Look

_UNSEEN = (math.nan, math.nan)


class Throughout(Condition):
    """Always true: the scope of an assertion that states none."""

    def _truth(self, grid: Grid) -> Truths:
        return np.full(2 * grid.pieces, YES, np.int8)

    def now(self, look: Look) -> int:
        return YES


class Moment(Condition):
    """True from `at_ms` of bench time on; as `pulse`, at that moment alone."""

    def __init__(self, at_ms: float, pulse: bool) -> None:
        self.at_ms, self._pulse = at_ms, pulse

    def cut(self, grid: Grid, exact: bool = True) -> Grid:
        within = grid.edges[0] < self.at_ms < grid.edges[-1]
        return grid.cut(np.array([self.at_ms])) if within else grid

    def _truth(self, grid: Grid) -> Truths:
        first, last = grid.points[0] - TINY_MS, grid.points[-1] + TINY_MS
        if self.at_ms > last or (self._pulse and self.at_ms < first):
            return np.full(2 * grid.pieces, NO, np.int8)
        if self._pulse:
            return interleave(np.where(np.abs(grid.points - self.at_ms) <= TINY_MS, YES, NO), NO)
        since = np.where(grid.points >= self.at_ms - TINY_MS, YES, NO)
        return interleave(since, since)

    def now(self, look: Look) -> int:
        on = look.time_ms == self.at_ms if self._pulse else look.time_ms >= self.at_ms
        return YES if on else NO


class Past(Condition):
    """A condition whose truth depends on what came before."""

    def cut(self, grid: Grid, exact: bool = True) -> Grid:
        # Its truth needs the exact moments of its parts even where only margins are asked for.
        for child in self.children:
            grid = child.cut(grid, True)
        return grid

    @abstractmethod
    def remember(self, whole: Grid) -> Any:
        """What must be kept after the stretch that `whole` covers."""


class Edge(Past):
    """`rises(c)`: true at the moments at which c becomes true; `falls(c)` is the rise of `not c`.

    A condition that is true when the run begins has not risen.
    """

    def __init__(self, inner: Condition) -> None:
        self.children = (inner,)
        self._inner = inner

    def _truth(self, grid: Grid) -> Truths:
        truth = self._inner.truth(grid)
        first = grid.stretch.memory.get(self, truth[0])
        if first != UNKNOWN and (truth == first).all():
            return np.full(len(truth), NO, np.int8)
        points, insides = truth[0::2], truth[1::2]
        before = np.concatenate(([first], insides[:-1]))
        rises = np.maximum(np.minimum(-before, points), np.minimum(-points, insides))
        # Where nobody knows, an edge may hide.
        return interleave(rises, np.where(insides == UNKNOWN, UNKNOWN, NO))

    def remember(self, whole: Grid) -> int:
        return int(self._inner.truth(self.cut(whole))[-1])

    def now(self, look: Look) -> int:
        truth = self._inner.now(look)
        before = look.past.get(self, truth)
        look.past[self] = truth
        return int(min(-before, truth))


class Held(Past):
    """`held(c, T)`: true at t where c is true throughout [t - T, t] and the run covers that."""

    def __init__(self, inner: Condition, length_ms: float) -> None:
        self.children = (inner,)
        self._inner, self._length = inner, length_ms

    def cut(self, grid: Grid, exact: bool = True) -> Grid:
        grid = super().cut(grid, exact)
        truth = self._inner.truth(grid)
        if truth.max() == NO:
            return grid
        since = [span[2] for level in (UNKNOWN, YES) for span in self._spans(grid, truth, level)]
        return grid.cut(np.array(since) + self._length)

    def _truth(self, grid: Grid) -> Truths:
        truth = self._inner.truth(grid)
        held = np.full(len(truth), NO, np.int8)
        if truth.max() == NO:
            return held
        for level in (UNKNOWN, YES):
            for first, last, since in self._spans(grid, truth, level):
                ripe = 2 * int(np.searchsorted(grid.points, since + self._length - TINY_MS))
                held[max(first, ripe) : last + 1] = level
        return held

    def _spans(self, grid: Grid, truth: Truths, level: int) -> list[tuple[int, int, float]]:
        """First and last element of each run of at least `level`, and since when it lasts. [ms]"""
        carried = grid.stretch.memory.get(self, _UNSEEN)[level]
        return [
            (first, last, carried if first == 0 and not math.isnan(carried) else begins(grid.edges, first))
            for first, last in runs(truth >= level)
        ]

    def remember(self, whole: Grid) -> tuple[float, float]:
        grid = self.cut(whole)
        truth = self._inner.truth(grid)
        possibly, surely = (self._lasting(grid, truth, level) for level in (UNKNOWN, YES))
        return possibly, surely

    def _lasting(self, grid: Grid, truth: Truths, level: int) -> float:
        """Since when it is true at the end of the grid, NaN if it is not. [ms]"""
        spans = self._spans(grid, truth, level)
        return spans[-1][2] if spans and spans[-1][1] == len(truth) - 1 else math.nan

    def now(self, look: Look) -> int:
        truth = self._inner.now(look)
        before = look.past.get(self, _UNSEEN)
        since = [
            math.nan if truth < level else look.time_ms if math.isnan(before[level]) else before[level]
            for level in (UNKNOWN, YES)
        ]
        look.past[self] = tuple(since)
        possibly, surely = (look.time_ms >= start + self._length for start in since)
        return YES if surely else UNKNOWN if possibly else NO


class Latch(Past):
    """Opens when `opens` becomes true, closes when `closes` is true; true while open.

    An `opens` that is true when the run begins opens it there. Where both come together it stays closed.
    Without `closes` it stays open once opened.
    """

    def __init__(self, opens: Condition, closes: Condition | None) -> None:
        self.children = (opens,) if closes is None else (opens, closes)
        self._opens, self._closes = opens, closes
        # Without a closing, being true and becoming true open it alike.
        self._before = UNKNOWN if closes is None else NO

    def _truth(self, grid: Grid) -> Truths:
        opens = self._opens.truth(grid)
        closes = np.full_like(opens, NO) if self._closes is None else self._closes.truth(grid)
        last, was_possibly, was_surely = grid.stretch.memory.get(self, (NO, False, False))
        if closes.max() == NO and last != UNKNOWN and (opens == last).all():
            state = YES if was_surely else UNKNOWN if was_possibly else NO
            return np.full(len(opens), state, np.int8)
        before = np.concatenate(([last], opens[:-1]))
        surely = _latched((opens == YES) & (before <= self._before), closes != NO, was_surely)
        possibly = _latched((opens != NO) & (before != YES), closes == YES, was_possibly)
        latched: Truths = np.where(surely, YES, np.where(possibly, UNKNOWN, NO)).astype(np.int8)
        return latched

    def remember(self, whole: Grid) -> tuple[int, bool, bool]:
        grid = self.cut(whole)
        state = int(self.truth(grid)[-1])
        return int(self._opens.truth(grid)[-1]), state != NO, state == YES

    def now(self, look: Look) -> int:
        opens = self._opens.now(look)
        closes = NO if self._closes is None else self._closes.now(look)
        last, state = look.past.get(self, (NO, NO))
        if closes != NO:
            state = NO if closes == YES else min(state, UNKNOWN)
        elif opens != NO and last != YES:
            state = max(state, opens)
        look.past[self] = (opens, state)
        return int(state)


def _latched(sets: Any, resets: Any, before: bool) -> Flags:
    """State of a latch after each element; a reset wins over a set at the same one."""
    index = np.arange(1, len(sets) + 1)
    last_set = np.maximum.accumulate(np.where(sets, index, 0))
    last_reset = np.maximum.accumulate(np.where(resets, index, 0))
    state: Flags = (last_set > last_reset) | (before & (last_reset == 0))
    return state
