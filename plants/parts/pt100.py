"""Platinum resistance thermometer of 100 ohm, IEC 60751."""

from __future__ import annotations

from math import sqrt

_R0, _A, _B, _C = 100.0, 3.9083e-3, -5.775e-7, -4.183e-12
"""IEC 60751:2022, the coefficients of the standard industrial sensor; -200 to 850 degC."""


def pt100_ohm(temp: float) -> float:
    """Resistance [ohm] at `temp` [degC].

    >>> round(pt100_ohm(66.0), 4)
    125.5432
    """
    ratio = 1.0 + temp * (_A + temp * _B)
    if temp < 0.0:
        ratio += _C * (temp - 100.0) * temp**3
    return _R0 * ratio


def pt100_temperature(ohm: float) -> float:
    """Temperature [degC] that gives `ohm`; the inverse of `pt100_ohm`.

    Below 0 degC by Newton's method from the quadratic. At 0 ohm (a short) -242.02 degC.
    """
    temp = (-_A + sqrt(max(_A * _A - 4.0 * _B * (1.0 - ohm / _R0), 0.0))) / (2.0 * _B)
    if temp >= 0.0:
        return temp
    for _ in range(6):
        slope = _A + 2.0 * _B * temp + _C * (4.0 * temp**3 - 300.0 * temp**2)
        temp -= (pt100_ohm(temp) - ohm) / (_R0 * slope)
    return temp
