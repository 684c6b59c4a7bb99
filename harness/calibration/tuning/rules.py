"""Published tuning rules, each with its formula, its source and where it holds.

All are written in the slope k = K/T, the dead time L and r = L/T, so that one formula serves a process of
first order and, with r = 0, an integrating one. Ideal form; `seen` says whether the formula was compared with
a public text or is recalled from memory, `range` what a rule's makers or common practice allow for r.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf

from harness.calibration.process import Process
from harness.calibration.tuning.settings import Settings, from_series
from harness.calibration.tuning.ultimate import shape, ultimate

Formula = Callable[[Process], Settings]


class RuleDoesNotHoldError(ValueError):
    """The rule says nothing for this process; the message says why."""


@dataclass(frozen=True)
class Rule:
    """One rule for one kind of controller.

    Attributes
    ----------
    name : how it is called on the command line.
    source : whose it is; formula as seen in a public text, or recalled.
    aim : what it was made for.
    most_ratio : the largest L/T for which it is used.
    range_basis : where that bound comes from.
    formula : the settings for a process.
    """

    name: str
    source: str
    aim: str
    most_ratio: float
    range_basis: str
    formula: Formula

    def settings(self, process: Process) -> Settings:
        """What the rule gives.

        Raises
        ------
        RuleDoesNotHoldError
            If the process is outside the rule's range.
        """
        _, dead_s, constant_s = shape(process)
        if dead_s == 0.0:
            raise RuleDoesNotHoldError("without dead time the rule asks for an infinite gain")
        ratio = dead_s / constant_s
        if ratio > self.most_ratio:
            said = f"dead time / time constant is {ratio:.2f}; it is used up to {self.most_ratio:.2g}"
            raise RuleDoesNotHoldError(f"{said} ({self.range_basis})")
        return self.formula(process)


def _of_reaction(
    gain: Callable[[float], float],
    integral: Callable[[float], float],
    derivative: Callable[[float], float] = lambda r: 0.0,
) -> Formula:
    """Kc = gain(r) / (k L), Ti = integral(r) L, Td = derivative(r) L."""

    def formula(process: Process) -> Settings:
        slope, dead_s, constant_s = shape(process)
        r = dead_s / constant_s
        return Settings(gain(r) / (slope * dead_s), integral(r) * dead_s, derivative(r) * dead_s)

    return formula


def _of_constant(gain: float, constants: float, derivative: float = 0.0) -> Formula:
    """As above with Ti = `constants` T, which an integrating process does not have."""

    def formula(process: Process) -> Settings:
        slope, dead_s, constant_s = shape(process)
        if constant_s == inf:
            raise RuleDoesNotHoldError("its integral time is a share of a time constant, and there is none")
        return Settings(gain / (slope * dead_s), constants * constant_s, derivative * dead_s)

    return formula


def _of_ultimate(gain: float, integral: float, derivative: float = 0.0) -> Formula:
    """Kc = gain Ku, Ti = integral Pu, Td = derivative Pu."""

    def formula(process: Process) -> Settings:
        ku, pu = ultimate(process)
        return Settings(gain * ku, integral * pu, derivative * pu)

    return formula


def _simc(constant_more: float, derivative: float) -> Formula:
    """SIMC with the closed loop's time constant equal to the dead time; T longer by a share of L."""

    def formula(process: Process) -> Settings:
        slope, dead_s, constant_s = shape(process)
        r = dead_s / constant_s
        gain = (1.0 + constant_more * r) / (slope * 2.0 * dead_s)
        integral_s = min(constant_s + constant_more * dead_s, 8.0 * dead_s)
        return from_series(gain, integral_s, derivative * dead_s)

    return formula


_ZN = "Ziegler, Nichols 1942 (formula seen)"
_CC = "Cohen, Coon 1953 (formula seen)"
_CHR = "Chien, Hrones, Reswick 1952 (recalled)"
_AMIGO = "Astrom, Hagglund 2004 (recalled)"
_TL = "Tyreus, Luyben 1992 (recalled)"
_UP_TO_1 = (1.0, "common practice, no source")
_UP_TO_THIRD = (1.0 / 3.0, "recalled, not confirmed")
_ANY = (inf, "no bound")


def _rows() -> tuple[Rule, ...]:
    quarter, lag = "each swing a quarter of the last", "a process that lags more than it waits"
    return (
        Rule("zn-step-pi", _ZN, quarter, *_UP_TO_1, _of_reaction(lambda r: 0.9, lambda r: 1.0 / 0.3)),
        Rule(
            "zn-step-pid", _ZN, quarter, *_UP_TO_1,
            _of_reaction(lambda r: 1.2, lambda r: 2.0, lambda r: 0.5),
        ),
        Rule("zn-swing-pi", _ZN, quarter, *_UP_TO_1, _of_ultimate(0.45, 1.0 / 1.2)),
        Rule("zn-swing-pid", _ZN, quarter, *_UP_TO_1, _of_ultimate(0.6, 0.5, 0.125)),
        Rule(
            "cohen-coon-pi", _CC, quarter, *_UP_TO_1,
            _of_reaction(lambda r: 0.9 + r / 12.0, lambda r: (30.0 + 3.0 * r) / (9.0 + 20.0 * r)),
        ),
        Rule(
            "cohen-coon-pid", _CC, quarter, *_UP_TO_1,
            _of_reaction(
                lambda r: 4.0 / 3.0 + r / 4.0,
                lambda r: (32.0 + 6.0 * r) / (13.0 + 8.0 * r),
                lambda r: 4.0 / (11.0 + 2.0 * r),
            ),
        ),
        Rule("chr-setpoint-pi", _CHR, "a set point, no overshoot", *_UP_TO_THIRD, _of_constant(0.35, 1.2)),
        Rule(
            "chr-setpoint-pid", _CHR, "a set point, no overshoot", *_UP_TO_THIRD, _of_constant(0.6, 1.0, 0.5)
        ),
        Rule(
            "chr-setpoint-20-pi", _CHR, "a set point, 20 % overshoot", *_UP_TO_THIRD, _of_constant(0.6, 1.0)
        ),
        Rule(
            "chr-setpoint-20-pid", _CHR, "a set point, 20 % overshoot", *_UP_TO_THIRD,
            _of_constant(0.95, 1.4, 0.47),
        ),
        Rule(
            "chr-load-pi", _CHR, "a load, no overshoot", *_UP_TO_THIRD,
            _of_reaction(lambda r: 0.6, lambda r: 4.0),
        ),
        Rule(
            "chr-load-pid", _CHR, "a load, no overshoot", *_UP_TO_THIRD,
            _of_reaction(lambda r: 0.95, lambda r: 2.4, lambda r: 0.42),
        ),
        Rule(
            "chr-load-20-pi", _CHR, "a load, 20 % overshoot", *_UP_TO_THIRD,
            _of_reaction(lambda r: 0.7, lambda r: 2.3),
        ),
        Rule(
            "chr-load-20-pid", _CHR, "a load, 20 % overshoot", *_UP_TO_THIRD,
            _of_reaction(lambda r: 1.2, lambda r: 2.0, lambda r: 0.42),
        ),
        Rule("simc-pi", "Skogestad 2003 (formula seen)", "fast and yet robust", *_ANY, _simc(0.0, 0.0)),
        Rule(
            "simc-improved-pi", "Grimholt, Skogestad 2012 (formula seen)", "as SIMC, longer dead times too",
            *_ANY, _simc(1.0 / 3.0, 0.0),
        ),
        Rule(
            "simc-improved-pid", "Grimholt, Skogestad 2018 (formula seen)", "as SIMC, with derivative",
            *_ANY, _simc(0.0, 1.0 / 3.0),
        ),
        Rule(
            "amigo-pi", _AMIGO, "loads, with Ms near 1.4", *_ANY,
            _of_reaction(
                lambda r: 0.15 * r + 0.35 - r / (1.0 + r) ** 2,
                lambda r: 0.35 + 13.0 / (1.0 + 12.0 * r + 7.0 * r * r),
            ),
        ),
        Rule(
            "amigo-pid", _AMIGO, "loads, with Ms near 1.4", *_ANY,
            _of_reaction(
                lambda r: 0.2 * r + 0.45,
                lambda r: (0.4 * r + 0.8) / (r + 0.1),
                lambda r: 0.5 / (0.3 * r + 1.0),
            ),
        ),
        Rule("tyreus-luyben-pi", _TL, lag, *_UP_TO_1, _of_ultimate(1.0 / 3.2, 2.2)),
        Rule("tyreus-luyben-pid", _TL, lag, *_UP_TO_1, _of_ultimate(1.0 / 2.2, 2.2, 1.0 / 6.3)),
    )  # fmt: skip


RULES: dict[str, Rule] = {rule.name: rule for rule in _rows()}
"""All rules by name."""
