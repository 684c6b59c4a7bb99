"""The cold junction: what the electronics measure, and what they make of it.

A thermocouple gives E(hot) - E(cold), the cold junction being where its wires end. To know the hot end the
electronics must measure the cold one and add its *voltage*, not its temperature.
"""

from __future__ import annotations

from plants.sensors.thermocouple import Thermocouple


def measured_uv(couple: Thermocouple, hot: float, cold: float) -> float:
    """Voltage [uV] between wires that end at `cold` [degC] when the junction is at `hot` [degC]."""
    return couple.emf(hot) - couple.emf(cold)


def compensated(couple: Thermocouple, uv: float, cold: float) -> float:
    """Temperature [degC] of the hot end, with the cold junction's voltage added: the right way.

    >>> from plants.sensors.thermocouple import K
    >>> round(compensated(K, 1848.94, 23.0), 3)
    68.0
    """
    return couple.temperature(uv + couple.emf(cold))


def degrees_added(couple: Thermocouple, uv: float, cold: float) -> float:
    """The classic mistake: read the voltage as if the cold junction were at 0 degC, then add its degrees.

    >>> from plants.sensors.thermocouple import K
    >>> round(degrees_added(K, 1848.94, 23.0), 3)
    68.773
    """
    return couple.temperature(uv) + cold
