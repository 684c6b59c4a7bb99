"""The settings of a controller, and the three forms in which firmwares write them.

Ideal:     u = Kc (e + 1/Ti integral(e) + Td de/dt)
Series:    u = Kc' (1 + 1/(Ti' s)) (1 + Td' s) e
Parallel:  u = Kp e + Ki integral(e) + Kd de/dt

The algebra between them is that of any textbook, e.g. Astrom and Hagglund, PID Controllers, 2nd ed. (1995),
section 3.4 (recalled, not seen).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite, sqrt

FILTER_SHARE = 10.0
"""The derivative is filtered at Td / 10 where nothing else is said: common practice, no source."""


@dataclass(frozen=True)
class Settings:
    """Settings in the ideal form.

    Attributes
    ----------
    gain : Kc; of the sign of the process's gain. [duty per K, duty 0 to 1]
    integral_s : Ti; infinite without integral action. [s]
    derivative_s : Td; 0 without derivative action. [s]

    Raises
    ------
    ValueError
        If a figure is out of its range or not finite.
    """

    gain: float
    integral_s: float
    derivative_s: float = 0.0

    def __post_init__(self) -> None:
        if not isfinite(self.gain) or self.gain == 0.0:
            raise ValueError(f"gain = {self.gain:g} is out of range. Give a finite number other than 0.")
        if not self.integral_s > 0.0:
            raise ValueError(f"integral_s = {self.integral_s:g} is out of range. Give more than 0.")
        if not 0.0 <= self.derivative_s < inf:
            raise ValueError(f"derivative_s = {self.derivative_s:g} is out of range. Give 0 or more.")

    @property
    def kind(self) -> str:
        """`P`, `PI`, `PD` or `PID`."""
        return "P" + ("I" if self.integral_s < inf else "") + ("D" if self.derivative_s else "")


@dataclass(frozen=True)
class Parallel:
    """Kp [duty/K], Ki [duty/(K s)], Kd [duty s/K]."""

    proportional: float
    integral: float
    derivative: float


def parallel(ideal: Settings) -> Parallel:
    """The same controller in the parallel form."""
    return Parallel(ideal.gain, ideal.gain / ideal.integral_s, ideal.gain * ideal.derivative_s)


def series(ideal: Settings) -> Settings | None:
    """The same controller in the series form; None where Ti < 4 Td, which has none.

    >>> round(series(Settings(5.208333, 8.333333, 0.32)).integral_s, 3)
    8.0
    """
    share = 4.0 * ideal.derivative_s / ideal.integral_s
    if share > 1.0:
        return None
    root = (1.0 + sqrt(1.0 - share)) / 2.0
    # Not Ti (1 - root): that loses digits, and an infinite Ti.
    return Settings(ideal.gain * root, ideal.integral_s * root, ideal.derivative_s / root)


def from_series(gain: float, integral_s: float, derivative_s: float) -> Settings:
    """The ideal form of settings in the series form.

    >>> round(from_series(5.0, 8.0, 1.0 / 3.0).integral_s, 3)
    8.333
    """
    factor = 1.0 + derivative_s / integral_s
    return Settings(gain * factor, integral_s * factor, derivative_s / factor)
