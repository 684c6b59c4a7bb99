"""Slack in seconds of a yes-or-no condition that must be so a grace after the scope opens."""

from __future__ import annotations

from .arrays import Truths
from .conditions import Condition
from .grid import YES, Grid, begins, ends, runs


class GraceSlack:
    """How long before the grace was over the condition came right for good; the worst of all openings.

    For each opening at o that outlasts the grace T: with e the end of the last time the condition was not
    true that began no later than o + T, the slack is o + T - e, and T where there was none.
    """

    def __init__(self, opened: Condition, condition: Condition, grace_ms: float) -> None:
        self._opened, self._condition, self._grace = opened, condition, grace_ms
        self._since: float | None = None
        self._wrong_until: float | None = None
        self._still_wrong = False
        self._worst: tuple[float, float] | None = None
        self._reached = 0.0

    @property
    def worst_s(self) -> float | None:
        """The smallest slack so far; None while no opening has outlasted its grace. [s]"""
        worst = self._current()
        return None if worst is None else worst[0] / 1000.0

    @property
    def worst_ms(self) -> float | None:
        """The moment at which the condition came right in that opening. [ms]"""
        worst = self._current()
        return None if worst is None else worst[1]

    def look(self, whole: Grid) -> None:
        """Take one more stretch into account."""
        grid = self._opened.cut(whole)
        if self._nothing_new(self._opened.truth(grid), grid):
            return
        grid = self._condition.cut(grid)
        opened = self._opened.truth(grid) == YES
        truth = self._condition.truth(grid)
        if not opened[0]:
            self._close(float(grid.edges[0]))
        for first, last in runs(opened):
            if self._since is None:
                self._since = begins(grid.edges, first)
            self._judge(grid, truth, first, last)
            if last < len(opened) - 1:
                self._close(ends(grid.edges, last))
        self._reached = float(grid.edges[-1])

    def _nothing_new(self, opened: Truths, grid: Grid) -> bool:
        """Whether the scope stays closed, or stays open with its slack decided."""
        if self._since is None:
            return bool(opened.max() != YES)
        decided = not self._still_wrong and self._since + self._grace < grid.edges[0]
        return decided and bool(opened.min() == YES)

    def _judge(self, grid: Grid, truth: Truths, first: int, last: int) -> None:
        assert self._since is not None
        wrong = truth[first : last + 1] != YES
        due = self._since + self._grace
        for begin, end in runs(wrong):
            counted = self._still_wrong if begin == 0 and self._wrong_until is not None else False
            if counted or begins(grid.edges, first + begin) <= due:
                self._wrong_until = ends(grid.edges, first + end)
                self._still_wrong = bool(end == len(wrong) - 1)
        if not wrong[-1]:
            self._still_wrong = False

    def _current(self) -> tuple[float, float] | None:
        if self._since is None:
            return self._worst
        return self._smaller(self._reached)

    def _smaller(self, closed: float) -> tuple[float, float] | None:
        """The worst slack with the present opening, as if it closed now."""
        assert self._since is not None
        due = self._since + self._grace
        if closed < due:
            return self._worst
        right = self._since if self._wrong_until is None else self._wrong_until
        slack = (min(due - right, self._grace), right)
        return slack if self._worst is None else min(self._worst, slack)

    def _close(self, at_ms: float) -> None:
        if self._since is not None:
            self._worst = self._smaller(at_ms)
        self._since, self._wrong_until, self._still_wrong = None, None, False
