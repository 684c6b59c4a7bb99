"""The limit cycle of a first-order process with dead time under on/off heat, exactly.

Heat comes on at set point - e and goes off at set point + e. With K, T, L the process, r the set point above
the temperature without heat and E = exp(-L/T), the temperature swings between

    low = (r - e) E        high = K - (K - r - e) E

and the heat is on and off for

    on = L + T ln((K - low) / (K - r - e))        off = L + T ln(high / (r - e))

which algebra gives from the exponentials between two switchings. For e = 0 the swing is K (1 - E), and at
r = K/2 the period is 2 T ln(2 exp(L/T) - 1). An oscillation of amplitude a under a relay of amplitude d has
about the ultimate gain 4 d / (pi sqrt(a^2 - e^2)) and the ultimate period (Astrom and Hagglund 1984,
Automatic tuning of simple regulators with specifications on phase and amplitude margins, Automatica
20:645-651); by the describing function, 10 to 20 % low for such processes.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, expm1, log, pi, sqrt

from harness.calibration.process import FirstOrder
from harness.calibration.record import Array

SOURCE = "Astrom and Hagglund 1984"
_EXACT = 1e-18


@dataclass(frozen=True)
class RelayCycle:
    """One steady cycle under on/off heat.

    Attributes
    ----------
    swing : from the lowest to the highest temperature. [K]
    on_s, off_s : how long heat is asked for and not. [s]
    set_point : above the temperature without heat. [K]
    hysteresis : e. [K]
    """

    swing: float
    on_s: float
    off_s: float
    set_point: float
    hysteresis: float = 0.0

    @property
    def period_s(self) -> float:
        """The whole cycle, taken as the ultimate period."""
        return self.on_s + self.off_s

    @property
    def ultimate_gain(self) -> float:
        """Estimate of the ultimate gain, duty per kelvin; the relay's amplitude is half the heat. [1/K]"""
        a = 0.5 * self.swing
        inside = a * a - self.hysteresis**2
        if inside <= 0.0:
            raise ValueError(
                f"the swing, {self.swing:g} K, is no more than the hysteresis to both sides. Lower it."
            )
        return 4.0 * 0.5 / (pi * sqrt(inside))


def limit_cycle(process: FirstOrder, set_point: float, hysteresis: float = 0.0) -> RelayCycle:
    """The steady cycle of a process.

    Raises
    ------
    ValueError
        If the process cannot pass the set point in both directions.

    Examples
    --------
    >>> cycle = limit_cycle(FirstOrder(1.0, 1.0, 10.0), 0.5)
    >>> round(cycle.period_s, 3), round(cycle.ultimate_gain, 2)
    (3.818, 13.38)
    """
    k, t, dead_s = process.gain, process.time_constant_s, process.dead_time_s
    low_edge, high_edge = set_point - hysteresis, set_point + hysteresis
    if not 0.0 < low_edge <= high_edge < k:
        raise ValueError(f"a set point {set_point:g} K above the start lies outside 0 to {k:g} K.")
    left = exp(-dead_s / t)
    low, high = low_edge * left, k - (k - high_edge) * left
    on_s = dead_s + t * log((k - low) / (k - high_edge))
    off_s = dead_s + t * log(high / low_edge)
    return RelayCycle(high - low, on_s, off_s, set_point, hysteresis)


def process_of(cycle: RelayCycle) -> FirstOrder:
    """The process that cycles so: the formulas of the module the other way round.

    Raises
    ------
    ValueError
        If none does.
    """
    from scipy.optimize import least_squares

    def at(logs: Array) -> FirstOrder:
        dead_s, t = exp(float(logs[0])), exp(float(logs[1]))
        left = exp(-dead_s / t)
        gain = (cycle.swing - 2.0 * cycle.hysteresis * left) / -expm1(-dead_s / t)
        return FirstOrder(gain, dead_s, t)

    def off(logs: Array, /) -> list[float]:
        try:
            found = limit_cycle(at(logs), cycle.set_point, cycle.hysteresis)
        except (ValueError, OverflowError):
            return [10.0, 10.0]
        return [log(found.on_s / cycle.on_s), log(found.off_s / cycle.off_s)]

    shortest = min(cycle.on_s, cycle.off_s)
    best: FirstOrder | None = None
    least = 1e-6
    for dead_share in (0.2, 0.4, 0.6, 0.8):
        for slow in (1.0, 5.0, 25.0, 125.0, 625.0):
            begin = [log(dead_share * shortest), log(slow * shortest)]
            found = least_squares(off, begin, xtol=1e-12, ftol=1e-12, gtol=1e-12)
            if found.cost < least:
                best, least = at(found.x), float(found.cost)
            if best is not None and least < _EXACT:
                return best
    if best is None:
        raise ValueError("no first-order process with dead time cycles so.")
    return best
