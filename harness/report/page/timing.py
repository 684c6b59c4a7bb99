"""When a timed assertion began to count, when it was due, and when it came."""

from __future__ import annotations

from dataclasses import dataclass

from harness.assertions.verdict import Outcome
from harness.report.page.played import Judged

MS = 1000.0
LAST, FIRST = "must last", "must come first"


@dataclass(frozen=True)
class Timing:
    """The time allowed and the time taken, both from `since_ms`. [ms]

    `came_ms` is before `due_ms` where there is time to spare and after it where it came late; the distance is
    the margin.
    """

    since_ms: float
    due_ms: float
    came_ms: float
    word: str = "allowed"
    """What the time from `since_ms` to `due_ms` is."""

    @property
    def at_least(self) -> bool:
        """Whether it had to last up to `due_ms` instead of being over by then."""
        return self.word == LAST


def timing_of(judged: Judged) -> Timing | None:
    """From the verdict's moment and margin and what was demanded; None where the margin is no time.

    What `decided_ms` means for each pattern is defined in harness/assertions/README.md.
    """
    verdict, spec = judged.verdict, judged.spec
    if spec is None or verdict.decided_ms is None or verdict.margin is None or verdict.margin_unit != "s":
        return None
    decided, slack = float(verdict.decided_ms), verdict.margin * MS
    late = verdict.outcome is Outcome.BROKEN
    if spec.after is not None:
        return _met_or_missed(decided, slack, late, float(spec.within_ms or 0))
    if spec.before is not None:
        # The event is the bound: what had to come first came `slack` before it.
        return Timing(min(decided - slack, decided), decided, decided - slack, FIRST)
    if spec.always is not None or spec.never is not None:
        return _met_or_missed(decided, slack, late, float(spec.grace_ms or 0))
    bound = None if judged.anatomy is None else judged.anatomy.bound
    return None if bound is None else _lasted(decided, slack, late, bound * MS, spec.at_least is not None)


def _met_or_missed(decided: float, slack: float, late: bool, allowed: float) -> Timing:
    due = decided if late else decided + slack
    return Timing(due - allowed, due, due - slack)


def _lasted(decided: float, slack: float, late: bool, bound: float, at_least: bool) -> Timing:
    if at_least:
        # Decided at the end of the shortest: it lasted `slack` longer than it had to.
        since = decided - (bound + slack)
        return Timing(since, since + bound, decided, LAST)
    since = decided - bound if late else decided - (bound - slack)
    return Timing(since, since + bound, since + bound - slack)
