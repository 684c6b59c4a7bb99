"""`figure`, `count`, `each`, `again`: something that is counted or measured, and its bound."""

from __future__ import annotations

import math

from .conditions import Condition, missing_from
from .grid import NO, UNKNOWN, YES, Grid, begins, ends, runs
from .past import Throughout
from .spec import AssertionSpec
from .tally import Bound, Figure, Tally
from .verdict import Outcome, Verdict
from .words import ENDED_EARLY, NEVER_OPENED, NO_OCCURRENCE, TOO_SHORT, whole_ms


class Measured:
    """Judges a figure against its bound in each opening of the scope.

    An opening of which it is not certain when it began is not judged; one whose end is not certain can only
    be broken.
    """

    def __init__(self, spec: AssertionSpec, figure: Figure, bound: Bound, scope: Condition) -> None:
        self._spec, self._figure, self._bound, self._scope = spec, figure, bound, scope
        self._unscoped = isinstance(scope, Throughout)
        self._open: Tally | None = None
        self._last = NO
        self._worst: dict[Outcome, tuple[float, float]] = {}
        self._idle = self._unknown = ""
        self._seen = 0

    @property
    def broken(self) -> bool:
        return Outcome.BROKEN in self._worst or (self._open is not None and self._breaks(self._open))

    def look(self, whole: Grid) -> None:
        """Judge one more stretch."""
        grid = self._scope.cut(whole)
        if self._open is None and self._scope.truth(grid).max() == NO:
            self._last = NO
            return
        grid = self._scope.cut(self._figure.cut(whole))
        scope = self._scope.truth(grid)
        unsure = scope == UNKNOWN
        if not self._unknown and unsure.any():
            self._unknown = missing_from(grid, unsure, self._scope)
        if scope[0] != YES:
            self._close(float(grid.edges[0]), certain=bool(scope[0] == NO))
        for first, last in runs(scope == YES):
            before = self._last if first == 0 else scope[first - 1]
            if self._open is None and before == NO:
                self._open = self._figure.begin(begins(grid.edges, first))
            if self._open is not None:
                self._open.take(grid, first, last)
            if last < len(scope) - 1:
                self._close(ends(grid.edges, last), certain=bool(scope[last + 1] == NO))
        self._last = int(scope[-1])

    def _breaks(self, tally: Tally) -> bool:
        bound = self._bound
        return tally.least > bound.value if bound.upper else tally.most < bound.value

    def _meets(self, tally: Tally) -> bool:
        bound = self._bound
        return tally.most <= bound.value if bound.upper else tally.least >= bound.value

    def _close(self, at_ms: float, certain: bool) -> None:
        tally, self._open = self._open, None
        if tally is None:
            return
        if certain:
            tally.close(at_ms)
        self._seen += tally.seen
        if self._breaks(tally):
            self._note(tally, Outcome.BROKEN, at_ms)
        elif certain and not tally.seen:
            self._idle = self._idle or (TOO_SHORT if self._spec.again is not None else NO_OCCURRENCE)
        elif certain and self._meets(tally):
            self._note(tally, Outcome.MET, at_ms)
        elif certain:
            self._unknown = self._unknown or tally.missing or tally.open_end

    def _note(self, tally: Tally, outcome: Outcome, at_ms: float) -> None:
        """Keep the opening if it is the worst so far."""
        broken, bound = outcome is Outcome.BROKEN, self._bound
        if bound.upper:
            margin = bound.value - (tally.least if broken else tally.most)
        else:
            margin = (tally.most if broken else tally.least) - bound.value
        result = (margin, at_ms if math.isnan(tally.moment) else tally.moment)
        self._worst[outcome] = min(self._worst.get(outcome, result), result)

    def verdict(self, end_ms: int, complete: bool) -> Verdict:
        if complete:
            self._close(float(end_ms), certain=True)
        elif self._open is not None:
            self._end_early(self._open, float(end_ms))
        title, basis = self._spec.title, self._spec.basis
        outcome, note = self._outcome(end_ms, complete)
        count = self._seen if self._spec.each is not None else int(outcome is not Outcome.NOT_EXERCISED)
        if outcome not in (Outcome.MET, Outcome.BROKEN):
            return Verdict(title, basis, outcome, exercised=count, note=note)
        margin, decided = self._worst[outcome]
        known = math.isfinite(margin)
        unit = self._figure.kind.label if known else ""
        return Verdict(title, basis, outcome, margin if known else None, unit, whole_ms(decided), count, note)

    def _end_early(self, tally: Tally, end_ms: float) -> None:
        """The run broke off: only what is certain by now counts."""
        self._seen += tally.seen
        if self._breaks(tally):
            self._note(tally, Outcome.BROKEN, end_ms)
        elif self._unscoped and tally.seen and self._meets(tally):
            self._note(tally, Outcome.MET, end_ms)

    def _outcome(self, end_ms: int, complete: bool) -> tuple[Outcome, str]:
        if Outcome.BROKEN in self._worst:
            return Outcome.BROKEN, ""
        met = Outcome.MET in self._worst
        if not complete and not (met and self._unscoped):
            return Outcome.NOT_JUDGED, ENDED_EARLY.format(end_ms / 1000)
        if self._unknown:
            return Outcome.NOT_JUDGED, self._unknown
        return (Outcome.MET, "") if met else (Outcome.NOT_EXERCISED, self._idle or NEVER_OPENED)
