"""Matches triggers with the answers that follow them."""

from __future__ import annotations

import math
from collections import deque

from .arrays import Floats
from .grid import begins, ends


class Answers:
    """The first answer that lasts, for each trigger; at one level of certainty.

    Keeps the triggers that still wait: of those that wait for an answer to begin only the earliest (all
    later ones get the same answer and are less late), of those that wait for it to last the ones of the last
    `held_ms`.

    Attributes
    ----------
    slack : float
        Smallest of `trigger + within - answer`; infinite while nothing was answered. [ms]
    decided : float
        The moment of the answer with that slack, or of the deadline it missed. [ms]
    late : bool
        Whether a trigger was not answered in time.
    asked : bool
        Whether an answer came after its trigger; not if each was there when it was asked for.
    """

    def __init__(self, within_ms: float, held_ms: float) -> None:
        self._within, self._held = within_ms, held_ms
        self._waiting: deque[float] = deque()
        self._since: float | None = None
        self.slack = math.inf
        self.decided = math.nan
        self.late = self.asked = False

    @property
    def idle(self) -> bool:
        """Whether no trigger waits."""
        return not self._waiting

    def take(self, edges: Floats, answers: list[tuple[int, int]], triggers: list[int]) -> None:
        """One stretch: runs of elements that answer, and the elements at which triggers come, in order."""
        if not answers or answers[0][0] > 0:
            self._stop()
        at, final = 0, 2 * len(edges) - 3
        for first, last in answers:
            while at < len(triggers) and triggers[at] < first:
                self._wait(begins(edges, triggers[at]))
                at += 1
            if self._since is None:
                self._since = begins(edges, first)
            while at < len(triggers) and triggers[at] <= last:
                self._waiting.append(begins(edges, triggers[at]))
                at += 1
            self._lasted(ends(edges, last))
            if last < final:
                self._stop()
        for trigger in triggers[at:]:
            self._wait(begins(edges, trigger))
        if self._waiting:
            self.late |= self._answer(float(edges[-1])) > self._waiting[0] + self._within

    def finish(self, end: float) -> bool:
        """Settle the triggers that still wait; whether one of them was cut off by the end of the run."""
        if not self._waiting:
            return False
        due, answer = self._waiting[0] + self._within, self._answer(end)
        if due > end or (self._since is not None and answer <= due):
            return True
        self._settle(self._waiting[0], answer)
        # The window is closed: unanswered at its very end is late, by nothing.
        self.late = True
        return False

    def _answer(self, now: float) -> float:
        """The earliest answer the first waiting trigger can still get."""
        return now if self._since is None else max(self._waiting[0], self._since)

    def _wait(self, trigger: float) -> None:
        if not self._waiting:
            self._waiting.append(trigger)

    def _lasted(self, until: float) -> None:
        """The answer under way has lasted until now."""
        while self._waiting:
            answer = self._answer(until)
            if until - answer < self._held:
                return
            self._settle(self._waiting.popleft(), answer)

    def _stop(self) -> None:
        self._since = None
        while len(self._waiting) > 1:
            self._waiting.pop()

    def _settle(self, trigger: float, answer: float) -> None:
        due = trigger + self._within
        self.asked |= answer > trigger
        self.late |= answer > due
        if due - answer < self.slack:
            self.slack = due - answer
            self.decided = min(answer, due)
