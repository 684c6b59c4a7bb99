"""What became of an assertion, and of a run."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Outcome(StrEnum):
    """What became of one assertion."""

    MET = "met"
    BROKEN = "broken"
    NOT_EXERCISED = "not exercised"
    NOT_JUDGED = "could not be judged"


class Status(StrEnum):
    """What became of a run. RUNNING in a logbook whose process is gone means interrupted."""

    RUNNING = "running"
    PASS = "pass"
    FAIL = "fail"
    INCONCLUSIVE = "inconclusive"


@dataclass(frozen=True)
class Verdict:
    """One assertion judged.

    Attributes
    ----------
    title, basis : str
        As the scenario states them.
    outcome : Outcome
    margin : float or None
        How far the run stayed from breaking it (negative: by how much it was broken). None where
        nothing numeric decided. [margin_unit]
    margin_unit : str
        The signal's unit, or "s" for a timed response.
    decided_ms : int or None
        The moment that decided it: of the smallest margin, or of the break. [ms of bench time]
    exercised : int
        How often the trigger came; 1 for an assertion without one.
    note : str
        One sentence where the outcome needs a reason.
    """

    title: str
    basis: str
    outcome: Outcome
    margin: float | None = None
    margin_unit: str = ""
    decided_ms: int | None = None
    exercised: int = 1
    note: str = ""
