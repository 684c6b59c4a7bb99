"""Thermistors whose resistance falls with temperature (NTC)."""

from __future__ import annotations

from dataclasses import dataclass
from math import cbrt, exp, log, sqrt

KELVIN = 273.15
LOWEST, HIGHEST = -55.0, 300.0
"""Range that a reading is held to [degC]; the widest of usual parts (common practice, no source)."""

_SMALLEST, _LARGEST = 1e-3, 1e9


def _held(temp_k: float) -> float:
    return min(max(temp_k - KELVIN, LOWEST), HIGHEST)


def _log(ohm: float) -> float:
    return log(min(max(ohm, _SMALLEST), _LARGEST))


@dataclass(frozen=True)
class Beta:
    """1/T = 1/T25 + ln(R/R25)/B, T in kelvin.

    Attributes
    ----------
    r25 : resistance at 25 degC. [ohm]
    beta : constant of the material. [K]

    Examples
    --------
    >>> part = Beta(10e3, 3950.0)
    >>> round(part.ohm(65.0), 1), round(part.temperature(2000.0), 3)
    (2086.4, 66.228)
    """

    r25: float
    beta: float

    def ohm(self, temp: float) -> float:
        """Resistance [ohm] at `temp` [degC], which is taken as no less than -150 degC."""
        return self.r25 * exp(self.beta * (1.0 / (max(temp, -150.0) + KELVIN) - 1.0 / (25.0 + KELVIN)))

    def temperature(self, ohm: float) -> float:
        """Temperature [degC] at which the resistance is `ohm`; exact to 1e-9 K, held to -55..300 degC.

        A short reads 300 degC, an open circuit -55 degC.
        """
        inverse = 1.0 / (25.0 + KELVIN) + (_log(ohm) - log(self.r25)) / self.beta
        return _held(1.0 / inverse) if inverse > 0.0 else HIGHEST


@dataclass(frozen=True)
class SteinhartHart:
    """1/T = A + B ln R + C (ln R)^3, T in kelvin (Steinhart and Hart 1968, Deep-Sea Research 15).

    Examples
    --------
    >>> part = fitted((0.0, 32128.0), (25.0, 9814.0), (50.0, 3542.0))
    >>> round(part.temperature(19549.0), 4), round(part.ohm(25.0), 3)
    (10.0001, 9814.0)
    """

    a: float
    b: float
    c: float

    def temperature(self, ohm: float) -> float:
        """Temperature [degC] at which the resistance is `ohm`; held to -55..300 degC."""
        ln = _log(ohm)
        inverse = self.a + ln * (self.b + self.c * ln * ln)
        return _held(1.0 / inverse) if inverse > 0.0 else HIGHEST

    def ohm(self, temp: float) -> float:
        """Resistance [ohm] at `temp` [degC]: root of the cubic; back within 1e-6 K, -55..300 degC."""
        rest = (self.a - 1.0 / (temp + KELVIN)) / self.c
        third = self.b / (3.0 * self.c)
        root = sqrt(third**3 + rest * rest / 4.0)
        return exp(cbrt(root - rest / 2.0) - cbrt(root + rest / 2.0))


Point = tuple[float, float]


def fitted(one: Point, two: Point, three: Point) -> SteinhartHart:
    """The set that passes through three points (temperature [degC], resistance [ohm]).

    Raises
    ------
    ValueError
        If two of the points have the same resistance.
    """
    ln = [log(ohm) for _, ohm in (one, two, three)]
    inverse = [1.0 / (temp + KELVIN) for temp, _ in (one, two, three)]
    if len(set(ln)) < 3:
        raise ValueError("fitted: two of the points have the same resistance. Give three different points.")
    slope2 = (inverse[1] - inverse[0]) / (ln[1] - ln[0])
    slope3 = (inverse[2] - inverse[0]) / (ln[2] - ln[0])
    c = (slope3 - slope2) / (ln[2] - ln[1]) / sum(ln)
    b = slope2 - c * (ln[0] ** 2 + ln[0] * ln[1] + ln[1] ** 2)
    return SteinhartHart(inverse[0] - (b + ln[0] ** 2 * c) * ln[0], b, c)
