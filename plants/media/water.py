"""Water at the pressures and temperatures of a small plant, 0 to 110 degC.

Saturation pressure and boiling point follow IAPWS-IF97 region 4. Density, latent heat and the fast vapour
pressure are fitted here to IF97 on the saturation line; each states the largest deviation of the fit.
"""

from __future__ import annotations

from math import exp, sqrt

SPECIFIC_HEAT = 4186.0
"""Liquid water [J/kg K], one value: heating from 20 degC agrees with IF97 within 0.08 K, 10 to 100 degC."""

_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip
"""IAPWS R7-97, table 34."""

VAPOUR_FIT = (16.55406504, 3977.88972051, 233.31698549)
"""ln p[kPa] = a - b / (t + c): within 0.26 % of IF97 from 1 to 110 degC."""

LATENT_FIT = (2.50005022e6, -2282.78616, -1.52170371)
"""Latent heat [J/kg], quadratic in degC: within 0.04 % of IF97 from 1 to 110 degC."""


def saturation_kpa(temp: float) -> float:
    """Vapour pressure over water at `temp` [degC], in kPa (IF97 equation 30).

    >>> round(saturation_kpa(90.0), 3)
    70.182
    """
    kelvin = temp + 273.15
    theta = kelvin + _N[8] / (kelvin - _N[9])
    a = theta * theta + _N[0] * theta + _N[1]
    b = _N[2] * theta * theta + _N[3] * theta + _N[4]
    c = _N[5] * theta * theta + _N[6] * theta + _N[7]
    return 1000.0 * float((2.0 * c / (-b + sqrt(b * b - 4.0 * a * c))) ** 4)


def boiling_point(pressure_kpa: float) -> float:
    """Temperature [degC] at which water boils under `pressure_kpa` (IF97 equation 31).

    >>> round(boiling_point(101.325), 3)
    99.974
    """
    beta = sqrt(sqrt(pressure_kpa / 1000.0))
    e = beta * beta + _N[2] * beta + _N[5]
    f = _N[0] * beta * beta + _N[3] * beta + _N[6]
    g = _N[1] * beta * beta + _N[4] * beta + _N[7]
    d = 2.0 * g / (-f - sqrt(f * f - 4.0 * e * g))
    return (_N[9] + d - sqrt((_N[9] + d) ** 2 - 4.0 * (_N[8] + _N[9] * d))) / 2.0 - 273.15


def latent_heat(temp: float) -> float:
    """Heat to turn water at `temp` [degC] into vapour, in J/kg."""
    return LATENT_FIT[0] + temp * (LATENT_FIT[1] + temp * LATENT_FIT[2])


def density(temp: float) -> float:
    """Density [kg/m3] at `temp` [degC]; within 0.007 % of IF97 from 1 to 110 degC."""
    return 999.879252 + temp * (
        0.0426648653 + temp * (-7.13273974e-3 + temp * (3.57802063e-5 - temp * 1.02288996e-7))
    )


def fast_vapour_kpa(temp: float) -> float:
    """Vapour pressure [kPa] from the three-constant fit that the stepping uses."""
    return exp(VAPOUR_FIT[0] - VAPOUR_FIT[1] / (temp + VAPOUR_FIT[2]))


def viscosity(temp: float) -> float:
    """Dynamic viscosity [Pa s] at `temp` [degC]; within 0.6 % of IAPWS from 0 to 95 degC."""
    return exp(-10.46451768 + 514.85589946 / (temp + 124.46768832))


def conductivity(temp: float) -> float:
    """Thermal conductivity [W/m K] at `temp` [degC]; within 0.06 % of IAPWS from 0 to 95 degC."""
    return 0.555975403 + temp * (2.38484919e-3 + temp * (-1.58232901e-5 + temp * 4.15764992e-8))


def expansion(temp: float) -> float:
    """Thermal expansion coefficient [1/K] at `temp` [degC], from the slope of `density`."""
    slope = 0.0426648653 + temp * (-1.426547948e-2 + temp * (1.073406189e-4 - temp * 4.09155968e-7))
    return -slope / density(temp)


def prandtl(temp: float) -> float:
    """Prandtl number at `temp` [degC]."""
    return SPECIFIC_HEAT * viscosity(temp) / conductivity(temp)
