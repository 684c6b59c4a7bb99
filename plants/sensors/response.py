"""How fast a sheathed probe follows, by flow and immersion, and what its stem conducts away.

The lag is a sum: the way through the probe itself, which does not depend on the flow, and the film of water
on it. The film's share is that of a solid cylinder in cross flow (heat capacity over film conductance), with
the correlation of Churchill and Bernstein 1977 (J. Heat Transfer 99:300; in Incropera et al., Fundamentals of
Heat and Mass Transfer). The makers' table is for water at 0.2 m/s; from it comes the part inside.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acosh, cosh, log, sqrt

TABLE_SPEED = 0.2
"""Speed of the water for which makers state response times. [m/s]"""

STILL = 0.01
"""Least speed; natural convection in a heated tank moves the water about so fast. [m/s] assumed"""

_STEEL_HEAT = 3.9e6
"""Heat capacity of stainless steel [J/m3 K]: 7900 kg/m3 times 490 J/kg K, rounded."""

_STEEL_CONDUCTIVITY = 16.0
"""Of stainless steel [W/m K], common practice, no source."""

_WATER = (0.6556, 4.415e-7, 2.764)
"""At 65 degC: conductivity [W/m K], kinematic viscosity [m2/s], Prandtl number (IAPWS-97 by iapws 1.5.5)."""


@dataclass(frozen=True)
class Sheath:
    """A probe as its maker states it: times to half and to nine tenths of a step in water at 0.2 m/s."""

    about: str
    diameter_mm: float
    t50_s: float
    t90_s: float

    @property
    def lag_s(self) -> float:
        """Time constant of the first order that reaches nine tenths at the stated time."""
        return self.t90_s / log(10.0)


SHEATHS = {
    "couple-1.5": Sheath("mineral-insulated thermocouple, insulated tip", 1.5, 0.21, 0.60),
    "couple-3": Sheath("mineral-insulated thermocouple, insulated tip", 3.0, 1.2, 2.9),
    "couple-6": Sheath("mineral-insulated thermocouple, insulated tip", 6.0, 4.0, 9.6),
    "welded-3": Sheath("mineral-insulated thermocouple, welded tip", 3.0, 0.22, 0.75),
    "welded-6": Sheath("mineral-insulated thermocouple, welded tip", 6.0, 0.55, 2.6),
    "resistance-3": Sheath("resistance probe", 3.0, 5.2, 9.8),
    "resistance-6": Sheath("resistance probe", 6.0, 10.4, 23.2),
}
"""A maker's table, water at 0.2 m/s."""


def film(speed: float, diameter_mm: float) -> float:
    """Mean film coefficient of a cylinder in water that flows across it. [W/m2 K]

    Parameters
    ----------
    speed : of the water; below 0.01 m/s taken as that. [m/s]
    diameter_mm : of the probe. [mm]
    """
    conductivity, viscosity, prandtl = _WATER
    diameter = diameter_mm / 1000.0
    reynolds = max(speed, STILL) * diameter / viscosity
    shape: float = (1.0 + (0.4 / prandtl) ** (2.0 / 3.0)) ** 0.25
    growth: float = (1.0 + (reynolds / 282000.0) ** 0.625) ** 0.8
    nusselt: float = 0.3 + 0.62 * sqrt(reynolds) * prandtl ** (1.0 / 3.0) / shape * growth
    return nusselt * conductivity / diameter


def film_lag(speed: float, diameter_mm: float) -> float:
    """The film's part of the lag: heat capacity of a solid steel cylinder over its film. [s]"""
    return _STEEL_HEAT * diameter_mm / 1000.0 / 4.0 / film(speed, diameter_mm)


def lag(stated_s: float, diameter_mm: float, speed: float) -> float:
    """Time constant at `speed` [m/s] of a probe whose lag is `stated_s` at 0.2 m/s. [s]

    A lag too short for its film at 0.2 m/s keeps a twentieth inside.
    """
    outside = film_lag(TABLE_SPEED, diameter_mm)
    inside = max(stated_s - outside, 0.05 * stated_s)
    scale = (stated_s - inside) / outside
    return inside + scale * film_lag(speed, diameter_mm)


def stem_share(immersion_mm: float, diameter_mm: float, speed: float) -> float:
    """How far the tip is drawn from the water's temperature to the room's, 0 to 1.

    The stem as a fin with an adiabatic tip: 1 / cosh(m L), m = sqrt(4 h / (k d)) (Incropera et al.).

    >>> f"{stem_share(50.0, 6.0, 0.2):.0e}", round(stem_share(10.0, 6.0, 0.0), 2)
    ('3e-10', 0.24)
    """
    m = sqrt(4.0 * film(speed, diameter_mm) / (_STEEL_CONDUCTIVITY * diameter_mm / 1000.0))
    return 1.0 / cosh(min(m * immersion_mm / 1000.0, 300.0))


def immersion_for(share: float, diameter_mm: float, speed: float) -> float:
    """Immersion [mm] at which the tip is drawn by `share`; the inverse of `stem_share`."""
    m = sqrt(4.0 * film(speed, diameter_mm) / (_STEEL_CONDUCTIVITY * diameter_mm / 1000.0))
    return acosh(1.0 / share) / m * 1000.0
