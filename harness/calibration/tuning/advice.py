"""Which of the rules' settings to begin with, and why not the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from harness.calibration.process import Process
from harness.calibration.tuning.loop import StepFigures, step_figures
from harness.calibration.tuning.margins import Margins, margins
from harness.calibration.tuning.rules import RULES, RuleDoesNotHoldError
from harness.calibration.tuning.settings import FILTER_SHARE, Settings
from harness.quantity import beyond

MOST_SENSITIVE = 1.8
"""Ms that is asked for: 1.2 to 2.0 is usual (Astrom, Hagglund 1995, recalled). By GM >= Ms / (Ms - 1) the
loop then bears a process of 2.25 times the gain."""
MOST_OVERSHOOT = 0.30
"""Of a set point's step in the linear loop. A real heater is at its limit then and overshoots by less."""
MOST_JUMP = 0.10
"""Duty by which one step of the probe's resolution may move the output: more wears a valve for nothing."""
WORTH = 0.8
"""A derivative is worth its trouble where the load's error shrinks to this share."""


@dataclass(frozen=True)
class Candidate:
    """One rule's settings and what they do on the model; none of it where the rule gives no settings."""

    rule: str
    settings: Settings | None
    margins: Margins | None
    figures: StepFigures | None
    refused: Refusal | None = None


@dataclass(frozen=True)
class Refusal:
    """Why settings are not to be taken: the same words for all of one kind, and this one's figure.

    `jump` is the duty's where that alone speaks against them, else 0.
    """

    why: str
    figure: str = ""
    jump: float = 0.0


@dataclass(frozen=True)
class Advice:
    """All candidates in the rules' order, the one to begin with (none where all are refused), and why."""

    candidates: tuple[Candidate, ...]
    best: Candidate | None
    reason: str


def advise(
    process: Process, *, resolution: float = 0.0625, cycle_s: float = 30.0, rules: Sequence[str] = ()
) -> Advice:
    """Judge the rules' settings for a process.

    Parameters
    ----------
    process : the model.
    resolution : the smallest step of the probe's reading; 0 for none. [K]
    cycle_s : of the time-proportioned output; 0 for one that moves at once. [s]
    rules : by name; without them all.
    """
    tried = tuple(_candidate(process, name, resolution, cycle_s) for name in rules or RULES)
    usable = [one for one in tried if not one.refused]
    if not usable:
        return Advice(
            tried, None, f"every rule is refused; see the reason beside each{_mend(tried, resolution)}"
        )
    best = _best(usable)
    return Advice(tried, best, _reason(best, usable))


def _candidate(process: Process, name: str, resolution: float, cycle_s: float) -> Candidate:
    try:
        settings = RULES[name].settings(process)
    except RuleDoesNotHoldError as error:
        return Candidate(name, None, None, None, Refusal(str(error)))
    bears, does = margins(process, settings), step_figures(process, settings)
    against = _against(bears, does, jump_of(settings, resolution, cycle_s))
    return Candidate(name, settings, bears, does, against)


def _against(bears: Margins, does: StepFigures, jump: float) -> Refusal | None:
    """What speaks against settings, the gravest first."""
    if not bears.stable:
        return Refusal("the loop swings up and does not settle")
    if bears.sensitivity > MOST_SENSITIVE:
        why = f"Ms over {MOST_SENSITIVE}, it bears too little difference between process and model"
        return Refusal(why, beyond(bears.sensitivity, MOST_SENSITIVE, 2))
    if does.overshoot > MOST_OVERSHOOT:
        why = f"overshoots a step by more than {100.0 * MOST_OVERSHOOT:g} %"
        return Refusal(why, _percent(does.overshoot, MOST_OVERSHOOT))
    if jump > MOST_JUMP:
        return Refusal(
            f"one step of the probe moves the duty by more than {100.0 * MOST_JUMP:g} %",
            _percent(jump, MOST_JUMP), jump,
        )  # fmt: skip
    return None


def _percent(share: float, most: float) -> str:
    """A share that is more than `most`, as it is told beside it."""
    return f"{beyond(100.0 * share, 100.0 * most)} %" if share < 10.0 else "over 1000 %"


def _mend(tried: Sequence[Candidate], resolution: float) -> str:
    """What would let a rule be taken; empty where nothing here would."""
    jumps = [(one.refused.jump, one.rule) for one in tried if one.refused and one.refused.jump]
    if not jumps:
        return ""
    jump, rule = min(jumps)
    return f". With a probe that steps by {resolution * MOST_JUMP / jump:.2g} K or less {rule} can be taken"


def later(process: Process, seconds: float) -> Process:
    """The process with that much more dead time."""
    return replace(process, dead_time_s=process.dead_time_s + seconds)


def jump_of(settings: Settings, resolution: float, cycle_s: float) -> float:
    """By how much a cycle's duty moves when the reading moves by one step of its resolution. [-]

    The derivative answers with a pulse of Td times the step, as long as its filter, spread over the cycle.
    """
    spread_s = max(settings.derivative_s / FILTER_SHARE, cycle_s)
    lead = settings.derivative_s / spread_s if spread_s else 0.0
    return abs(settings.gain) * resolution * (1.0 + lead)


def _best(usable: Sequence[Candidate]) -> Candidate:
    """The least error after a load; without derivative where that costs little."""

    def error(one: Candidate) -> float:
        assert one.figures is not None
        return one.figures.load_iae

    best = min(usable, key=error)
    plain = [one for one in usable if one.settings is not None and not one.settings.derivative_s]
    simple = min(plain, key=error, default=best)
    return simple if error(best) > WORTH * error(simple) else best


def _reason(best: Candidate, usable: Sequence[Candidate]) -> str:
    assert best.settings is not None
    least = f"of {len(usable)} that nothing speaks against it leaves the least error after a load"
    if best.settings.derivative_s:
        return f"{least}; without its derivative that error would be larger by a quarter or more"
    if any(one.settings is not None and one.settings.derivative_s for one in usable):
        return f"{least} without a derivative, which would gain less than a fifth"
    return least
