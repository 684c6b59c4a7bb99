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
    flammability limit [volume % in air]; `gravity` the specific gravity used in orifice tables.
    """

    name: str
    heating_value: float
    density: float
    flammable_from: float
    gravity: float


PROPANE = Gas("propane", 50.33e6, 1.8992, 2.1, 1.50)
METHANE = Gas("natural gas", 55.52e6, 0.6798, 5.0, 0.60)
BUTANE = Gas("butane", 49.50e6, 2.5442, 1.9, 2.01)
GASES = (PROPANE, METHANE, BUTANE)


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


def orifice_power_w(diameter_mm: float, pressure_kpa: float, gas: Gas, coefficient: float = 0.90) -> float:
    """Heat input [W, higher heating value] of a burner with one orifice."""
    flow = orifice_ft3_per_h(
        diameter_mm / INCH_MM, pressure_kpa * 1000.0 / INCH_WC_PA, gas.gravity, coefficient
    )
    return flow * CUBIC_FOOT_M3 / 3600.0 * gas.density * gas.heating_value
