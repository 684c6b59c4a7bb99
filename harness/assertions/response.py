"""`after ... within ... expect`: each occurrence of a trigger is answered in time."""

from __future__ import annotations

import math

from .answers import Answers
from .arrays import Truths, np
from .conditions import Condition, missing_from
from .grid import NO, UNKNOWN, YES, Grid, runs
from .spec import AssertionSpec
from .verdict import Outcome, Verdict
from .words import ALREADY, CUT_OFF, ENDED_EARLY, NEVER_CAME, missing, whole_ms


class Response:
    """Judges G(trigger -> F[0, within] G[0, held) expect). [pattern: bounded response]

    What is not known is judged both ways: broken only if late whatever the missing figures were, met only
    if in time without them.
    """

    def __init__(self, spec: AssertionSpec, trigger: Condition, expect: Condition, scope: Condition) -> None:
        self._spec, self._trigger, self._expect, self._scope = spec, trigger, expect, scope
        within, held = float(spec.within_ms or 0), float(spec.held_ms or 0)
        self._surely, self._possibly = Answers(within, held), Answers(within, held)
        self._last = NO
        self._count = 0
        self._unknown = ""

    @property
    def broken(self) -> bool:
        return self._possibly.late

    def look(self, whole: Grid) -> None:
        """Judge one more stretch."""
        if self._surely.idle and self._possibly.idle:
            grid = self._scope.cut(self._trigger.cut(whole))
            triggered = np.minimum(self._trigger.truth(grid), self._scope.truth(grid))
            if triggered.max() == NO:
                self._last = NO
                return
        grid = self._expect.cut(self._scope.cut(self._trigger.cut(whole)))
        triggered = np.minimum(self._trigger.truth(grid), self._scope.truth(grid))
        expect = self._expect.truth(grid)
        unknown = (triggered == UNKNOWN) & (expect != YES)
        if not self._unknown and unknown.any():
            self._unknown = missing_from(grid, unknown, self._trigger, self._scope)
        triggers = self._occurrences(triggered)
        self._count += len(triggers)
        self._surely.take(grid.edges, runs(expect == YES), triggers)
        self._possibly.take(grid.edges, runs(expect != NO), triggers)

    def _occurrences(self, triggered: Truths) -> list[int]:
        """Elements at which the trigger, in the scope, becomes true."""
        on = triggered == YES
        before = np.concatenate(([self._last == YES], on[:-1]))
        self._last = int(triggered[-1])
        return np.flatnonzero(on & ~before).tolist()

    def verdict(self, end_ms: int, complete: bool) -> Verdict:
        surely_cut = self._surely.finish(float(end_ms))
        possibly_cut = self._possibly.finish(float(end_ms))
        outcome, note = self._outcome(end_ms, complete, surely_cut or possibly_cut)
        title, basis = self._spec.title, self._spec.basis
        if outcome not in (Outcome.MET, Outcome.BROKEN):
            return Verdict(title, basis, outcome, exercised=self._count, note=note)
        answers = self._possibly if outcome is Outcome.BROKEN else self._surely
        slack = answers.slack / 1000.0 if math.isfinite(answers.slack) else None
        return Verdict(title, basis, outcome, slack, "s", whole_ms(answers.decided), self._count, note)

    def _outcome(self, end_ms: int, complete: bool, cut: bool) -> tuple[Outcome, str]:
        if self._possibly.late:
            return Outcome.BROKEN, ""
        if not complete:
            return Outcome.NOT_JUDGED, ENDED_EARLY.format(end_ms / 1000)
        if self._surely.late:
            return Outcome.NOT_JUDGED, missing(self._surely.decided)
        if self._unknown:
            return Outcome.NOT_JUDGED, self._unknown
        if cut:
            return Outcome.NOT_JUDGED, CUT_OFF
        if not self._count:
            return Outcome.NOT_EXERCISED, NEVER_CAME
        return Outcome.MET, ALREADY if self._there_already() else ""

    def _there_already(self) -> bool:
        """Whether all answers were there when they were asked for, and were not asked to last."""
        return bool(self._spec.within_ms) and not self._spec.held_ms and not self._surely.asked
