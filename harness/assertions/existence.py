"""`sometime`: a condition at some moment of the scope, each time the scope opens."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .arrays import np
from .conditions import Condition, missing_from
from .grid import UNKNOWN, YES, Grid, begins, ends, runs
from .past import Throughout
from .spec import AssertionSpec
from .verdict import Outcome, Verdict
from .words import ENDED_EARLY, NEVER_OPENED, whole_ms


@dataclass
class _Opening:
    """One opening of the scope: whether the condition came, and how near it was."""

    seen_ms: float | None = None
    unknown: str = ""
    margin: float = -math.inf
    margin_ms: float | None = None
    unit: str = ""

    def result(self, end_ms: float) -> tuple[float, float, str]:
        """Margin, deciding moment and unit."""
        if self.seen_ms is not None:
            margin = math.inf if self.margin_ms is None else max(self.margin, 0.0)
            return margin, self.seen_ms, self.unit
        return min(self.margin, 0.0), end_ms if self.margin_ms is None else self.margin_ms, self.unit


class Existence:
    """Judges F(scope and condition), once for each opening of the scope. [pattern: existence]"""

    def __init__(self, spec: AssertionSpec, condition: Condition, scope: Condition) -> None:
        self._spec, self._condition, self._scope = spec, condition, scope
        self._unscoped = isinstance(scope, Throughout)
        self._open: _Opening | None = None
        self._worst: dict[Outcome, tuple[float, float, str]] = {}
        self._unknown = ""

    @property
    def broken(self) -> bool:
        return Outcome.BROKEN in self._worst

    def look(self, whole: Grid) -> None:
        """Judge one more stretch."""
        if self._unscoped and self._open is not None and self._open.seen_ms is not None:
            grid = self._condition.cut(whole, False)
            self._take_margins(grid, 0, 2 * grid.pieces - 1, self._open)
            return
        grid = self._scope.cut(self._condition.cut(whole))
        scope = self._scope.truth(grid)
        unsure = scope == UNKNOWN
        if not self._unknown and unsure.any():
            self._unknown = missing_from(grid, unsure, self._scope)
        if scope[0] != YES:
            self._close(float(grid.edges[0]))
        for first, last in runs(scope == YES):
            self._open = self._open or _Opening()
            self._judge(grid, first, last, self._open)
            if last < len(scope) - 1:
                self._close(ends(grid.edges, last))

    def _judge(self, grid: Grid, first: int, last: int, opening: _Opening) -> None:
        truth = self._condition.truth(grid)[first : last + 1]
        if opening.seen_ms is None and (truth == YES).any():
            opening.seen_ms = begins(grid.edges, first + int((truth == YES).argmax()))
        if not opening.unknown and (truth == UNKNOWN).any():
            unknown = self._condition.truth(grid) == UNKNOWN
            unknown[:first] = False
            opening.unknown = missing_from(grid, unknown, self._condition)
        self._take_margins(grid, first, last, opening)

    def _take_margins(self, grid: Grid, first: int, last: int, opening: _Opening) -> None:
        if not self._condition.measured:
            return
        skipped = first // 2
        for end, stop in enumerate((last // 2 + 1, (last + 1) // 2)):
            values = self._condition.margin(grid)[end][skipped:stop]
            if len(values) == 0:
                continue
            known = np.where(np.isnan(values), -math.inf, values)
            at = int(known.argmax())
            if known[at] > opening.margin:
                opening.margin = float(known[at])
                opening.margin_ms = float(grid.edges[skipped + at + end])
                opening.unit = self._condition.unit_at(grid, skipped + at, bool(end))

    def _close(self, at_ms: float) -> None:
        opening, self._open = self._open, None
        if opening is None:
            return
        outcome = Outcome.MET if opening.seen_ms is not None else Outcome.BROKEN
        if outcome is Outcome.BROKEN and opening.unknown:
            self._unknown = self._unknown or opening.unknown
            return
        result = opening.result(at_ms)
        self._worst[outcome] = min(self._worst.get(outcome, result), result)

    def verdict(self, end_ms: int, complete: bool) -> Verdict:
        if complete or (self._open is not None and self._open.seen_ms is not None):
            self._close(float(end_ms))
        title, basis = self._spec.title, self._spec.basis
        outcome, note = self._outcome(end_ms, complete)
        if outcome not in (Outcome.MET, Outcome.BROKEN):
            exercised = int(outcome is not Outcome.NOT_EXERCISED)
            return Verdict(title, basis, outcome, exercised=exercised, note=note)
        margin, decided, unit = self._worst[outcome]
        known = margin if math.isfinite(margin) else None
        return Verdict(title, basis, outcome, known, unit if known is not None else "", whole_ms(decided))

    def _outcome(self, end_ms: int, complete: bool) -> tuple[Outcome, str]:
        if self.broken:
            return Outcome.BROKEN, ""
        met = Outcome.MET in self._worst
        if not complete and not (met and self._unscoped):
            return Outcome.NOT_JUDGED, ENDED_EARLY.format(end_ms / 1000)
        if self._unknown:
            return Outcome.NOT_JUDGED, self._unknown
        return (Outcome.MET, "") if met else (Outcome.NOT_EXERCISED, NEVER_OPENED)
