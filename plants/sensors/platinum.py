"""Platinum resistance thermometers, IEC 60751 (Callendar and Van Dusen's equation)."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

LOWEST, HIGHEST = -200.0, 850.0
"""Range of the equation [degC]."""


@dataclass(frozen=True)
class Platinum:
    """R(t) = R0 (1 + A t + B t^2 + C (t - 100) t^3), the last term below 0 degC only.

    Attributes
    ----------
    r0 : resistance at 0 degC. [ohm]
    a, b, c : coefficients. [1/K, 1/K^2, 1/K^4]

    Examples
    --------
    >>> round(PT100.ohm(66.0), 4), round(PT100.temperature(125.5432), 3)
    (125.5432, 66.0)
    """

    r0: float
    a: float
    b: float
    c: float

    def ohm(self, temp: float) -> float:
        """Resistance [ohm] at `temp` [degC]."""
        ratio = 1.0 + temp * (self.a + temp * self.b)
        if temp < 0.0:
            ratio += self.c * (temp - 100.0) * temp**3
        return self.r0 * ratio

    def slope(self, temp: float) -> float:
        """Change of the resistance with temperature [ohm/K]."""
        slope = self.a + 2.0 * self.b * temp
        if temp < 0.0:
            slope += self.c * (4.0 * temp - 300.0) * temp * temp
        return self.r0 * slope

    def temperature(self, ohm: float) -> float:
        """Temperature [degC] at which the resistance is `ohm`.

        From 0 degC up the root of the quadratic, below by Newton's method from it: within 1e-9 K from -200 to
        850 degC. A short (0 ohm) reads -242.02 degC; past the top of the parabola, at some 3400 degC, the
        reading stays there.
        """
        root = max(self.a * self.a - 4.0 * self.b * (1.0 - ohm / self.r0), 0.0)
        temp = (sqrt(root) - self.a) / (2.0 * self.b)
        if temp >= 0.0:
            return temp
        for _ in range(6):
            temp -= (self.ohm(temp) - ohm) / self.slope(temp)
        return temp


def _industrial(r0: float) -> Platinum:
    """IEC 60751:2022: temperature coefficient 3.851e-3 /K."""
    return Platinum(r0, 3.9083e-3, -5.775e-7, -4.183e-12)


def other_curve(sensor: Platinum) -> Platinum:
    """The curve of another make: electronics set for it read this sensor wrong, by 1.2 K low at 66 degC.

    A and B are published for sensors of purer wire (100 to 0 degC ratio 1.3924); C is that of IEC 60751.
    """
    return Platinum(sensor.r0, 3.9827e-3, -5.875e-7, sensor.c)


PT100 = _industrial(100.0)
PT1000 = _industrial(1000.0)
