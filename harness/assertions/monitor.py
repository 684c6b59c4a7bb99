"""Judges assertions as a run goes, in bounded memory."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

from .arrays import Floats, Times
from .build import Builder
from .build_figures import build_figure
from .conditions import Condition, Not
from .existence import Existence
from .grace import GraceSlack
from .grid import Grid, Stretch
from .invariant import Invariant
from .measured import Measured
from .names import Names
from .past import Held, Throughout
from .precedence import Precedence
from .recorder import Recorder
from .response import Response
from .spec import AssertionSpec
from .verdict import Outcome, Verdict
from .words import NO_ROWS


class Pattern(Protocol):
    """What judges one assertion stretch by stretch."""

    @property
    def broken(self) -> bool: ...
    def look(self, whole: Grid) -> None: ...
    def verdict(self, end_ms: int, complete: bool) -> Verdict: ...


class Judge:
    """Judges all assertions of a run together, sharing what they have in common.

    The work is nearly the same for one row and for a hundred, so chunks of some hundred rows cost least.

    Parameters
    ----------
    specs : sequence of AssertionSpec
        Already checked with `check_spec`; an ExpressionError here names a signal that is not recorded.
    units : Mapping[str, str]
        Recorded signal -> unit.
    start_ms : int
        Bench time at which the run starts; the times in scopes and triggers count from it. [ms]

    Attributes
    ----------
    names : tuple of str
        The signals it needs.
    """

    def __init__(
        self, specs: Sequence[AssertionSpec], units: Mapping[str, str], *, start_ms: int = 0
    ) -> None:
        names = Names(units, start_ms=start_ms)
        self._specs = tuple(specs)
        self._patterns = [compile_pattern(spec, names) for spec in specs]
        self.names = tuple(sorted(names.used))
        keepers = [node for node in names.nodes() if hasattr(node, "remember")]
        self._recorder = Recorder(self.names, names.switched, keepers)

    @property
    def broken(self) -> tuple[int, ...]:
        """Which assertions are already broken, by their place."""
        return tuple(at for at, pattern in enumerate(self._patterns) if pattern.broken)

    def chunk(self, times_ms: Times, columns: Mapping[str, Floats]) -> None:
        """Take the next rows; each column has shape (n,), a bool is 0 or 1, no reading is NaN.

        Raises ValueError when rows are not in time.
        """
        if len(times_ms):
            self._judge(self._recorder.stretch(times_ms, columns))

    def finish(self, end_ms: int, complete: bool) -> list[Verdict]:
        """The verdicts, in the order of the assertions.

        `complete` is False when the run ended before its length: only what is already certain is said then.
        """
        self._judge(self._recorder.close(end_ms))
        if self._recorder.begun_ms is None:
            unjudged = Outcome.NOT_JUDGED
            return [Verdict(s.title, s.basis, unjudged, exercised=0, note=NO_ROWS) for s in self._specs]
        return [pattern.verdict(end_ms, complete) for pattern in self._patterns]

    def _judge(self, stretch: Stretch | None) -> None:
        if stretch is None:
            return
        whole = stretch.whole()
        for pattern in self._patterns:
            pattern.look(whole)
        self._recorder.remember(whole)


class Monitor:
    """Judges one assertion; see `Judge` for several."""

    def __init__(self, spec: AssertionSpec, units: Mapping[str, str], *, start_ms: int = 0) -> None:
        self._judge = Judge([spec], units, start_ms=start_ms)
        self.names = self._judge.names

    @property
    def broken(self) -> bool:
        """Whether it is already broken, whatever comes."""
        return bool(self._judge.broken)

    def chunk(self, times_ms: Times, columns: Mapping[str, Floats]) -> None:
        """Take the next rows; see `Judge.chunk`."""
        self._judge.chunk(times_ms, columns)

    def finish(self, end_ms: int, complete: bool) -> Verdict:
        """The verdict; see `Judge.finish`."""
        return self._judge.finish(end_ms, complete)[0]


def compile_assertion(spec: AssertionSpec, units: Mapping[str, str], *, start_ms: int = 0) -> Monitor:
    """The monitor of one assertion; ExpressionError where its text makes no sense of these signals."""
    return Monitor(spec, units, start_ms=start_ms)


def compile_pattern(spec: AssertionSpec, names: Names) -> Pattern:
    """What judges `spec`; its nodes are shared with the others of `names`."""
    opened, scope = _scope(spec, names)
    if spec.after is not None and spec.expect is not None:
        trigger = Builder(spec.after, names).trigger()
        return Response(spec, trigger, Builder(spec.expect, names).condition(), scope)
    if spec.before is not None and spec.expect is not None:
        event = Builder(spec.before, names).condition()
        return Precedence(spec, event, Builder(spec.expect, names).condition(), scope)
    if spec.stated in ("count", "each", "figure", "again"):
        return Measured(spec, *build_figure(spec, names), scope)
    if spec.sometime is not None:
        return Existence(spec, Builder(spec.sometime, names).condition(), scope)
    if spec.always is not None:
        condition = Builder(spec.always, names).condition()
    elif spec.never is not None:
        condition = names.node(Not, Builder(spec.never, names).condition())
    else:
        raise ValueError(f"'{spec.title}' states no pattern. Check it with check_spec first")
    bare = bool(spec.grace_ms) and not condition.measured
    slack = GraceSlack(opened, condition, float(spec.grace_ms or 0)) if bare else None
    return Invariant(spec, condition, scope, slack)


def _scope(spec: AssertionSpec, names: Names) -> tuple[Condition, Condition]:
    """The scope as it opens, and as it begins after the grace."""
    opened: Condition = names.node(Throughout)
    if spec.while_ is not None:
        opened = Builder(spec.while_, names).scope()
    return opened, names.node(Held, opened, float(spec.grace_ms)) if spec.grace_ms else opened
