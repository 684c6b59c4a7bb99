"""Which drill for which burner: the orifice tables' own formula, turned around.

Q = 1658.5 K A sqrt(h / SG), K 0.90, as behind the tables of NFPA 54 (see plants/media/gas.py). It holds for
low pressure; where the flow is choked nothing is given.
"""

from __future__ import annotations

from math import sqrt

from harness.calibration.sizing.row import DoesNotFitError, Row
from plants.media.air import pressure_kpa
from plants.media.gas import Gas, choked_above_kpa, derated_share, drill_mm, orifice_power_w

DRILLS = range(1, 81)


def for_power(gas: Gas, power: float, pressure: float, orifices: int, altitude: float) -> list[Row]:
    """The orifice of a burner rated for `power` [W, higher heating value] at `pressure` [kPa gauge].

    Parameters
    ----------
    orifices : how many alike share the gas.
    altitude : above sea level; from 600 m on a burner is set for less than its rating. [m]

    Raises
    ------
    DoesNotFitError
        If the flow would be choked, or no number drill is of that size.
    """
    air = pressure_kpa(altitude)
    limit = choked_above_kpa(gas, air)
    if pressure >= 0.95 * limit:
        raise DoesNotFitError(
            f"at {pressure:g} kPa the flow of {gas.name} is choked or nearly (from {limit:.0f} kPa on), and "
            "the low-pressure formula does not hold. Ask the burner's maker"
        )
    burned = power * derated_share(altitude)

    def gives(mm: float) -> float:
        return orifice_power_w(mm, pressure, gas, air_kpa=air)

    wanted = sqrt(burned / orifices / gives(1.0))
    smaller = [n for n in DRILLS if drill_mm(n) <= wanted]
    if not smaller or wanted > drill_mm(1):
        low, high = (orifices * gives(drill_mm(n)) / 1000.0 for n in (80, 1))
        raise DoesNotFitError(
            f"{wanted:.2f} mm is no number drill: {orifices} of them give {low:.2g} to {high:.3g} kW at this "
            "pressure. Change their number or the pressure"
        )
    rows = [
        Row("set for", burned / 1000.0, "kW", f"at {altitude:g} m: NFPA 54, 4 % less for each 300 m"),
        Row("gas", burned / gas.heating_value / gas.density * 3600.0, "m3/h", f"{gas.name} at 15 degC"),
        Row("diameter", wanted, "mm", f"of each of {orifices}, coefficient 0.90"),
    ]
    nearest = min(smaller)
    for number in (nearest, nearest - 1):
        if number >= 1:
            burns = orifices * gives(drill_mm(number)) / 1000.0
            rows.append(Row(f"drill no. {number}", burns, "kW", f"{drill_mm(number):.3f} mm"))
    return rows
