"""`always` and `never`: a condition throughout the scope."""

from __future__ import annotations

import math

from .arrays import Floats, np
from .conditions import Condition, missing_from
from .grace import GraceSlack
from .grid import NO, YES, Grid, Line, begins
from .past import Throughout
from .spec import AssertionSpec
from .verdict import Outcome, Verdict
from .words import ENDED_EARLY, NEVER_OPENED, whole_ms


class Invariant:
    """Judges G(scope -> condition). [pattern: universality; of a negation: absence]"""

    def __init__(
        self, spec: AssertionSpec, condition: Condition, scope: Condition, slack: GraceSlack | None
    ) -> None:
        self._spec, self._condition, self._scope, self._slack = spec, condition, scope, slack
        self._unscoped = isinstance(scope, Throughout)
        self._exercised = False
        self._broken_ms: float | None = None
        self._unknown = ""
        self._margin = math.inf
        self._margin_ms: float | None = None
        self._unit = ""

    @property
    def broken(self) -> bool:
        return self._broken_ms is not None

    def look(self, whole: Grid) -> None:
        """Judge one more stretch."""
        if self._slack is not None:
            self._slack.look(whole)
        if self.broken and not self._condition.measured:
            return
        throughout = self._unscoped
        if not throughout:
            scope = self._scope.truth(self._scope.cut(whole))
            if scope.max() == NO:
                return
            throughout = scope.min() == YES
        if not (throughout and self._clearly_met(whole)):
            self._exactly(whole)

    def _clearly_met(self, whole: Grid) -> bool:
        """The cheap way: nowhere near a break in this stretch, and nothing unknown."""
        if self._condition.measured:
            grid = self._condition.cut(whole, False)
            lines = self._condition.margin(grid)
            met = all(bool(line.min() > 0.0) for line in lines)
            if self.broken:
                # Only the depth of the break is still open.
                lines = (_known(lines[0]), _known(lines[1]))
            if met or self.broken:
                self._take_margin(grid, lines)
        else:
            met = bool(self._condition.truth(self._condition.cut(whole)).min() == YES)
        self._exercised |= met
        return met or self.broken

    def _exactly(self, whole: Grid) -> None:
        grid = self._scope.cut(self._condition.cut(whole))
        scope, truth = self._scope.truth(grid), self._condition.truth(grid)
        inside = scope == YES
        self._exercised |= bool(inside.any())
        bad = inside & (truth == NO)
        unknown = (scope != NO) & (truth != YES) & ~bad
        if self._broken_ms is None and bad.any():
            self._broken_ms = begins(grid.edges, int(bad.argmax()))
        if not self._unknown and unknown.any():
            self._unknown = missing_from(grid, unknown, self._condition, self._scope)
        if self._condition.measured:
            start, end = self._condition.margin(grid)
            points, insides = inside[0::2], inside[1::2]
            self._take_margin(grid, (_within(start, points | insides), _within(end, insides)))

    def _take_margin(self, grid: Grid, margins: Line) -> None:
        for end, values in enumerate(margins):
            piece = int(values.argmin())
            if values[piece] < self._margin:
                self._margin = float(values[piece])
                self._margin_ms = float(grid.edges[piece + end])
                self._unit = self._condition.unit_at(grid, piece, bool(end))

    def verdict(self, end_ms: int, complete: bool) -> Verdict:
        outcome, note = self._outcome(end_ms, complete)
        decided = self._broken_ms if self.broken else self._margin_ms
        if outcome not in (Outcome.MET, Outcome.BROKEN):
            exercised = int(self._exercised)
            return Verdict(self._spec.title, self._spec.basis, outcome, exercised=exercised, note=note)
        margin, unit = self._figure()
        if margin is not None and unit == "s" and not self.broken and self._slack is not None:
            decided = self._slack.worst_ms
        return Verdict(self._spec.title, self._spec.basis, outcome, margin, unit, whole_ms(decided), 1, note)

    def _outcome(self, end_ms: int, complete: bool) -> tuple[Outcome, str]:
        if self.broken:
            return Outcome.BROKEN, ""
        if not complete:
            return Outcome.NOT_JUDGED, ENDED_EARLY.format(end_ms / 1000)
        if self._unknown:
            return Outcome.NOT_JUDGED, self._unknown
        return (Outcome.MET, "") if self._exercised else (Outcome.NOT_EXERCISED, NEVER_OPENED)

    def _figure(self) -> tuple[float | None, str]:
        if math.isfinite(self._margin):
            # Rounding at a cut must not make the margin deny the verdict.
            return (min if self.broken else max)(self._margin, 0.0), self._unit
        slack = None if self._slack is None else self._slack.worst_s
        if slack is None or (slack >= 0.0) == self.broken:
            return None, ""
        return slack, "s"


def _known(values: Floats) -> Floats:
    return np.where(np.isnan(values), math.inf, values)


def _within(values: Floats, where: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Floats:
    """Margins inside the scope; endless where outside or not known."""
    return np.where(where & ~np.isnan(values), values, math.inf)
