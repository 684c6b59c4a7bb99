"""When each disturbance starts and ends: the disturbances of a scenario merged into one order.

Rules. Changes are handed out by rising time. At one time ends come before starts, so that a fault can be
handed over to its successor, and otherwise the order is that of the file. A disturbance that starts once
ends at most once, later than it started; an open-ended one has no end. Nothing here knows a clock: the
bench says what time it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush

from harness.scenario.model import Disturbance

NEVER_MS = 2**62
"""Later than any run ends."""


@dataclass(frozen=True)
class Change:
    """A start or an end, at `t_ms` of bench time, of the disturbance at `index` in the file."""

    t_ms: int
    starts: bool
    index: int
    disturbance: Disturbance


class Timeline:
    """The starts and ends still to come.

    >>> timeline = Timeline([Disturbance("flame-lost", at_ms=4000, for_ms=1000)])
    >>> [(change.t_ms, change.starts) for change in timeline.take_due(9000)]
    [(4000, True), (5000, False)]
    """

    def __init__(self, disturbances: Sequence[Disturbance]) -> None:
        self._disturbances = tuple(disturbances)
        self._due: list[tuple[int, bool, int]] = []
        self._waiting: dict[int, str] = {}
        self._unstarted = set(range(len(self._disturbances)))
        for index, disturbance in enumerate(self._disturbances):
            if disturbance.at_ms is None:
                self._waiting[index] = disturbance.when or ""
                continue
            for count in range(disturbance.times):
                self._due += self._changes(index, disturbance.at_ms + count * disturbance.repeat_every_ms)
        heapify(self._due)

    @property
    def pending_conditions(self) -> list[tuple[int, str]]:
        """Index and condition text of each disturbance that waits for its condition, in file order."""
        return sorted(self._waiting.items())

    def next_ms(self, now_ms: int = 0) -> int:
        """When the next change is due: `now_ms` if one is overdue, `NEVER_MS` if none is known."""
        return max(now_ms, self._due[0][0]) if self._due else NEVER_MS

    def take_due(self, t_ms: int) -> list[Change]:
        """The changes due up to and including `t_ms` that were not taken before, in order."""
        taken = []
        while self._due and self._due[0][0] <= t_ms:
            due_ms, starts, index = heappop(self._due)
            if starts:
                self._unstarted.discard(index)
            taken.append(Change(due_ms, starts, index, self._disturbances[index]))
        return taken

    def triggered(self, index: int, t_ms: int) -> None:
        """The condition of disturbance `index` holds at `t_ms`: it starts then, once and for all.

        One whose end (`until`) has already passed never starts.
        """
        del self._waiting[index]
        end_ms = self._disturbances[index].end_ms
        if end_ms is None or t_ms < end_ms:
            for change in self._changes(index, t_ms):
                heappush(self._due, change)

    def never_started(self) -> list[Disturbance]:
        """The disturbances whose start was never taken, in file order."""
        return [self._disturbances[index] for index in sorted(self._unstarted)]

    def _changes(self, index: int, start_ms: int) -> list[tuple[int, bool, int]]:
        disturbance = self._disturbances[index]
        end_ms = disturbance.end_ms
        if disturbance.for_ms is not None:
            end_ms = start_ms + disturbance.for_ms
        starts = [(start_ms, True, index)]
        return starts if end_ms is None else [*starts, (end_ms, False, index)]
