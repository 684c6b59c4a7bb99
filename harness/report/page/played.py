"""A run read back for drawing: its rows, its verdicts, and what each assertion looked at."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from harness.assertions import Anatomy, AssertionSpec, ExpressionError, Verdict, dissect, spec_of
from harness.assertions.names import is_switched
from harness.bench.result import RunResult
from harness.logbook import RunRecord
from harness.report.page.strip import Trace
from harness.report.page.thin import Times, Values, Window, thin
from harness.report.record import as_result

AROUND_MS = 10_000.0
"""To both sides of a moment that decided, every row is drawn in the whole run too."""


@dataclass(frozen=True)
class Judged:
    """A verdict with what was demanded and what it looked at; None where the logbook does not tell."""

    verdict: Verdict
    spec: AssertionSpec | None
    anatomy: Anatomy | None


class PlayedRun:
    """One run of the page; `letter` tells it from the others, empty where it is alone."""

    def __init__(self, record: RunRecord, letter: str = "") -> None:
        self.record = record
        self.letter = letter
        self.meta = record.summary.meta
        self.result: RunResult = as_result(record)
        self.times, self.columns = record.signals()
        self.units = dict(record.units)

    @property
    def number(self) -> int:
        return self.record.summary.run_id

    @cached_property
    def length_ms(self) -> int:
        """How far it goes: its length, or its last row."""
        return max(self.result.length_ms, int(self.times[-1]) if len(self.times) else 0, 1)

    @cached_property
    def judged(self) -> tuple[Judged, ...]:
        """The verdicts in the scenario's order."""
        stated = [spec_of(values) for values in self.meta.assertions]
        verdicts = self.result.verdicts
        if [spec.title for spec in stated] != [verdict.title for verdict in verdicts]:
            return tuple(Judged(verdict, None, None) for verdict in verdicts)
        pairs = zip(verdicts, stated, strict=True)
        return tuple(Judged(verdict, spec, self._parts(spec)) for verdict, spec in pairs)

    def _parts(self, spec: AssertionSpec) -> Anatomy | None:
        try:
            return dissect(spec, self.units, self.times, self.columns, self.length_ms)
        except (ExpressionError, ValueError):
            return None  # a logbook of an earlier unlit, with a text that is none any more

    def moved(self, name: str) -> bool:
        """Whether a signal was ever anything else than at the start."""
        values = self.columns[name]
        known = values[np.isfinite(values)]
        return len(known) > 0 and bool(known.min() < known.max() or len(known) < len(values))

    def held(self, name: str) -> bool:
        """Whether a signal holds until the next row."""
        return is_switched(name, self.units[name])

    @cached_property
    def windows(self) -> tuple[Window, ...]:
        """The times around the moments that decided."""
        moments = {j.verdict.decided_ms for j in self.judged if j.verdict.decided_ms is not None}
        return tuple((moment - AROUND_MS, moment + AROUND_MS) for moment in sorted(moments))

    def trace(self, signal: str, buckets: int, window: Window | None = None, **look: object) -> Trace:
        """A signal thinned for drawing, of the whole run or of a window, as a strip takes it."""
        times, values = self.times, self.columns[signal]
        keep = self.windows
        if window is not None:
            times, values = cut_out(times, values, window, held=self.held(signal))
            keep = ()
        held = self.held(signal)
        rows = thin(times, values, buckets, held=held, windows=keep)
        times, values = times[rows], values[rows]
        end = self.length_ms if window is None else min(int(window[1]), self.length_ms)
        if len(times) and times[-1] < end:
            times, values = np.append(times, end), np.append(values, values[-1])
        look.setdefault("name", signal)
        return Trace(unit=self.units[signal], times=times, values=values, held=held, **look)  # type: ignore[arg-type]


def cut_out(times: Times, values: Values, window: Window, *, held: bool) -> tuple[Times, Values]:
    """The rows in a window, with the one before and the one after, so that lines come in and go out."""
    first = max(int(np.searchsorted(times, window[0], side="left")) - 1, 0)
    last = int(np.searchsorted(times, window[1], side="right")) + 1
    times, values = times[first:last], values[first:last]
    if held and len(times) and times[0] < window[0]:
        times = times.copy()
        times[0] = int(window[0])
    return times, values
