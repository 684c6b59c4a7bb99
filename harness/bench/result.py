"""The outcome of a run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from harness.assertions.verdict import Outcome, Status, Verdict

#: How the reason of a run that a person stopped begins.
STOPPED = "stopped by a person"

EXIT_CODE = {Status.PASS: 0, Status.FAIL: 1, Status.INCONCLUSIVE: 3, Status.RUNNING: 3}


@dataclass(frozen=True)
class Event:
    """Something that happened at one instant.

    `source` is one of `plant`, `disturbance`, `device`, `link`, `bench`; `text` is for a person.
    """

    t_ms: int
    source: str
    text: str


@dataclass(frozen=True)
class RunResult:
    """A finished run: what `unlit run` prints and the logbook keeps.

    `warnings` are those of the `notes` that a person should see though the run passed; `cut_short` says that
    the link, the device, the plant or a person ended it.
    """

    run_id: int
    scenario_file: str
    title: str
    device: str
    status: Status
    reasons: tuple[str, ...]
    verdicts: tuple[Verdict, ...]
    events: tuple[Event, ...]
    digest: str
    length_ms: int
    exchanges: int
    repeats: int
    wall_s: float
    notes: tuple[str, ...] = field(default=())
    warnings: tuple[str, ...] = field(default=())
    cut_short: bool = False

    @property
    def stopped(self) -> bool:
        """Whether a person stopped it."""
        return any(reason.startswith(STOPPED) for reason in self.reasons)

    def ended_as(self, expected: str) -> bool:
        """Whether it ended so, and by itself: what was cut short shows nothing, whatever was expected."""
        return expected == self.status and not self.cut_short and not self.stopped


def overall(verdicts: Sequence[Verdict], reasons: Sequence[str]) -> Status:
    """Status of a run: a break is a fail; else any reason or unjudged assertion is inconclusive."""
    if any(v.outcome is Outcome.BROKEN for v in verdicts):
        return Status.FAIL
    if reasons or not verdicts or any(v.outcome is not Outcome.MET for v in verdicts):
        return Status.INCONCLUSIVE
    return Status.PASS
