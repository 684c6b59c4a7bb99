"""Thermocouples K, J and T on the ITS-90: NIST Monograph 175 and SRD 60."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp

from plants.sensors.couple_tables import EMF, INVERSE, K_BUMP


def _horner(coefficients: Sequence[float], x: float) -> tuple[float, float]:
    """A polynomial, constant term first, and its derivative."""
    value = slope = 0.0
    for coefficient in reversed(coefficients):
        slope = slope * x + value
        value = value * x + coefficient
    return value, slope


class Thermocouple:
    """One letter type; voltages in uV, reference junction at 0 degC unless another is given.

    Outside its range (`low` to `high` [degC]) a type goes on along the tangent at the end, so that a reading
    stays finite and rises with the temperature.

    Examples
    --------
    >>> round(K.emf(68.0), 1), round(K.temperature(4096.2), 2), round(K.published_temperature(4096.2), 2)
    (2768.2, 100.0, 99.97)
    """

    def __init__(self, letter: str) -> None:
        self.letter = letter
        self._pieces, self._inverse = EMF[letter], INVERSE[letter]
        self._joint = self._pieces[1][0]
        self.low, self.high = self._pieces[0][0], self._pieces[1][1]
        self._lowest, self._highest = self._piece(self.low), self._piece(self.high)

    def _piece(self, temp: float) -> tuple[float, float]:
        """Voltage [uV] and slope [uV/K] within the range."""
        upper = temp >= self._joint
        value, slope = _horner(self._pieces[1 if upper else 0][2], temp)
        if upper and self.letter == "K":
            a0, a1, a2 = K_BUMP
            bump = a0 * exp(a1 * (temp - a2) ** 2)
            value, slope = value + bump, slope + bump * 2.0 * a1 * (temp - a2)
        return value, slope

    def _emf_and_slope(self, temp: float) -> tuple[float, float]:
        if temp < self.low:
            value, slope = self._lowest
            return value + slope * (temp - self.low), slope
        if temp > self.high:
            value, slope = self._highest
            return value + slope * (temp - self.high), slope
        return self._piece(temp)

    def emf(self, temp: float) -> float:
        """Voltage [uV] of a measuring junction at `temp` [degC]."""
        return self._emf_and_slope(temp)[0]

    def seebeck(self, temp: float) -> float:
        """Change of the voltage with temperature [uV/K]."""
        return self._emf_and_slope(temp)[1]

    def temperature(self, uv: float) -> float:
        """Temperature [degC] that gives `uv`: the inverse of `emf`, within 1e-6 K over the whole range.

        Newton's method from the published inverse polynomial. The pieces of `emf` meet within 0.001 uV only;
        a voltage in such a gap reads within 1e-4 K of the joint.
        """
        temp = self.published_temperature(uv)
        for _ in range(40):
            value, slope = self._emf_and_slope(temp)
            change = (value - uv) / slope
            temp -= change
            if abs(change) < 1e-9:
                break
        return temp

    def published_temperature(self, uv: float) -> float:
        """Temperature [degC] from the published inverse polynomial, as a controller would compute it.

        Error bands [K], NIST SRD 60: K -200..0 degC -0.02..+0.04, 0..500 -0.05..+0.04, 500..1372
        -0.05..+0.06; J -210..0 -0.05..+0.03, 0..760 -0.04..+0.04, 760..1200 -0.04..+0.03; T -200..0
        -0.02..+0.04, 0..400 -0.03..+0.03. Beyond its ends the polynomial is held at the end.
        """
        last = self._inverse[-1]
        uv = min(max(uv, self._inverse[0][0]), last[1])
        row = next((row for row in self._inverse if uv < row[1]), last)
        return _horner(row[2], uv)[0]


K, J, T = Thermocouple("K"), Thermocouple("J"), Thermocouple("T")
