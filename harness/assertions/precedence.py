"""`before` ... `expect`: something must not come before something else has."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .arrays import np
from .conditions import Condition, missing_from
from .grid import NO, UNKNOWN, YES, Grid, begins, ends, runs
from .past import Throughout
from .spec import AssertionSpec
from .verdict import Outcome, Verdict
from .words import ENDED_EARLY, NEVER_CAME, NEVER_OPENED, whole_ms


@dataclass
class _Opening:
    """When each of the two first came in this opening of the scope, surely and possibly; inf: not yet."""

    event: float = math.inf
    maybe_event: float = math.inf
    leave: float = math.inf
    maybe_leave: float = math.inf
    missing: str = ""

    @property
    def broken(self) -> bool:
        return self.event < self.maybe_leave

    @property
    def met(self) -> bool:
        return self.event < math.inf and self.leave <= self.maybe_event


class Precedence:
    """Judges (not event) W leave, in each opening of the scope. [pattern: precedence]

    Both at the same moment is in order. An opening whose beginning is not certain is not judged.
    """

    def __init__(self, spec: AssertionSpec, event: Condition, leave: Condition, scope: Condition) -> None:
        self._spec, self._event, self._leave, self._scope = spec, event, leave, scope
        self._unscoped = isinstance(scope, Throughout)
        self._open: _Opening | None = None
        self._last = NO
        self._opened = False
        self._worst: dict[Outcome, tuple[float, float]] = {}
        self._unknown = ""
        self._count = 0

    @property
    def broken(self) -> bool:
        return Outcome.BROKEN in self._worst or (self._open is not None and self._open.broken)

    def look(self, whole: Grid) -> None:
        """Judge one more stretch."""
        grid = self._scope.cut(self._event.cut(self._leave.cut(whole)))
        scope = self._scope.truth(grid)
        unsure = scope == UNKNOWN
        if not self._unknown and unsure.any():
            self._unknown = missing_from(grid, unsure, self._scope)
        if scope[0] != YES:
            self._close(float(grid.edges[0]), certain=bool(scope[0] == NO))
        for first, last in runs(scope == YES):
            before = self._last if first == 0 else scope[first - 1]
            if self._open is None and before == NO:
                self._open, self._opened = _Opening(), True
            if self._open is not None:
                self._take(self._open, grid, first, last)
            if last < len(scope) - 1:
                self._close(ends(grid.edges, last), certain=bool(scope[last + 1] == NO))
        self._last = int(scope[-1])

    def _take(self, opening: _Opening, grid: Grid, first: int, last: int) -> None:
        def first_at(condition: Condition, level: int) -> float:
            found = np.flatnonzero(condition.truth(grid)[first : last + 1] >= level)
            return begins(grid.edges, first + int(found[0])) if len(found) else math.inf

        opening.event = min(opening.event, first_at(self._event, YES))
        opening.maybe_event = min(opening.maybe_event, first_at(self._event, UNKNOWN))
        opening.leave = min(opening.leave, first_at(self._leave, YES))
        opening.maybe_leave = min(opening.maybe_leave, first_at(self._leave, UNKNOWN))
        if not opening.missing:
            unknown = np.zeros(2 * grid.pieces, bool)
            for condition in (self._event, self._leave):
                unknown[first : last + 1] |= condition.truth(grid)[first : last + 1] == UNKNOWN
            if unknown.any():
                opening.missing = missing_from(grid, unknown, self._event, self._leave)

    def _close(self, at_ms: float, certain: bool) -> None:
        opening, self._open = self._open, None
        if opening is None:
            return
        self._count += opening.event < math.inf
        if opening.broken:
            late = min(opening.maybe_leave, at_ms)
            self._keep(Outcome.BROKEN, opening.event - late, opening.event)
        elif opening.met:
            self._keep(Outcome.MET, opening.event - opening.leave, opening.event)
        elif certain and opening.maybe_event < math.inf:
            self._unknown = self._unknown or opening.missing

    def _keep(self, outcome: Outcome, slack_ms: float, at_ms: float) -> None:
        result = (slack_ms / 1000.0, at_ms)
        self._worst[outcome] = min(self._worst.get(outcome, result), result)

    def verdict(self, end_ms: int, complete: bool) -> Verdict:
        self._close(float(end_ms), certain=complete)
        title, basis = self._spec.title, self._spec.basis
        outcome, note = self._outcome(end_ms, complete)
        if outcome not in (Outcome.MET, Outcome.BROKEN):
            return Verdict(title, basis, outcome, exercised=self._count, note=note)
        slack, decided = self._worst[outcome]
        return Verdict(title, basis, outcome, slack, "s", whole_ms(decided), self._count, note)

    def _outcome(self, end_ms: int, complete: bool) -> tuple[Outcome, str]:
        if Outcome.BROKEN in self._worst:
            return Outcome.BROKEN, ""
        met = Outcome.MET in self._worst
        if not complete and not (met and self._unscoped):
            return Outcome.NOT_JUDGED, ENDED_EARLY.format(end_ms / 1000)
        if self._unknown:
            return Outcome.NOT_JUDGED, self._unknown
        if met:
            return Outcome.MET, ""
        return Outcome.NOT_EXERCISED, NEVER_CAME if self._opened else NEVER_OPENED
