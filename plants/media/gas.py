"""Fuel gases: heating value, density, flammability limit; the flow through a drilled orifice.

Heating values from enthalpies of formation at 25 degC, real-gas densities at 15 degC and 101.325 kPa; lower
flammability limits of NFPA 497 (IEC 60079-20-1 gives lower ones: propane 1.7, methane 4.4, n-butane 1.4 %).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

CUBIC_FOOT_M3 = 0.3048**3
INCH_MM = 25.4
INCH_WC_PA = 249.089


@dataclass(frozen=True)
class Gas:
    """One fuel gas.

    `heating_value` is the higher one [J/kg]; `density` at 15 degC [kg/m3]; `flammable_from` the lower
    flammability limit [volume % in air]; `gravity` the specific gravity used in orifice tables;
    `heat_ratio` that of the specific heats.
    """

    name: str
    heating_value: float
    density: float
    flammable_from: float
    gravity: float
    heat_ratio: float


PROPANE = Gas("propane", 50.33e6, 1.8992, 2.1, 1.50, 1.13)
METHANE = Gas("natural-gas", 55.52e6, 0.6798, 5.0, 0.60, 1.31)
BUTANE = Gas("butane", 49.50e6, 2.5442, 1.9, 2.01, 1.09)
GASES = {gas.name: gas for gas in (PROPANE, METHANE, BUTANE)}


def orifice_ft3_per_h(
    diameter_in: float, pressure_in_wc: float, gravity: float, coefficient: float = 0.90
) -> float:
    """Gas flow through a drilled spud, in cubic feet per hour.

    `Q = 1658.5 K A sqrt(h / SG)` with A in square inches and h in inches of water, as behind the orifice
    tables of NFPA 54 (K 0.90). Holds for low pressure only: up to about 0.7 bar.

    >>> round(orifice_ft3_per_h(0.0350, 11.0, 1.50), 3)
    3.889
    """
    area = pi / 4.0 * diameter_in**2
    return 1658.5 * coefficient * area * sqrt(pressure_in_wc / gravity)


def orifice_power_w(
    diameter_mm: float, pressure_kpa: float, gas: Gas, coefficient: float = 0.90, air_kpa: float = 101.325
) -> float:
    """Heat input [W, higher heating value] of a burner with one orifice in air of `air_kpa`.

    The tables are for sea level; the mass that passes goes with the root of the gas's density.
    """
    flow = orifice_ft3_per_h(
        diameter_mm / INCH_MM, pressure_kpa * 1000.0 / INCH_WC_PA, gas.gravity, coefficient
    )
    return flow * CUBIC_FOOT_M3 / 3600.0 * gas.density * gas.heating_value * sqrt(air_kpa / 101.325)


def choked_above_kpa(gas: Gas, air_kpa: float = 101.325) -> float:
    """Gauge pressure from which the flow is choked and the orifice formula no longer holds, in kPa.

    Isentropic flow: p / p0 = (2 / (k + 1))^(k / (k - 1)).

    >>> round(choked_above_kpa(PROPANE))
    74
    """
    ratio: float = (2.0 / (gas.heat_ratio + 1.0)) ** (gas.heat_ratio / (gas.heat_ratio - 1.0))
    return air_kpa * (1.0 / ratio - 1.0)


def derated_share(altitude_m: float) -> float:
    """Share of its rated input that a burner is set to at a height [m].

    4 % less for each 300 m (1000 ft) above sea level, and nothing less below 600 m (2000 ft): UMC 2009,
    appendix B, reproducing NFPA 54-2002. None is left from 7500 m on.

    >>> derated_share(500.0), round(derated_share(1500.0), 9)
    (1.0, 0.8)
    """
    return 1.0 if altitude_m < 600.0 else max(1.0 - 0.04 * altitude_m / 300.0, 0.0)


_DRILLS = (
    2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935, 1910, 1890, 1850, 1820, 1800, 1770, 1730,
    1695, 1660, 1610, 1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285, 1200, 1160, 1130, 1110,
    1100, 1065, 1040, 1015, 995, 980, 960, 935, 890, 860, 820, 810, 785, 760, 730, 700, 670, 635, 595, 550,
    520, 465, 430, 420, 410, 400, 390, 380, 370, 360, 350, 330, 320, 310, 292, 280, 260, 250, 240, 225, 210,
    200, 180, 160, 145, 135,
)  # fmt: skip
"""Number drills 1 to 80 in ten-thousandths of an inch (ASME B94.11M)."""


def drill_mm(number: int) -> float:
    """Diameter [mm] of a number drill, 1 to 80.

    >>> round(drill_mm(65), 3)
    0.889
    """
    return _DRILLS[number - 1] * 1e-4 * INCH_MM
