"""Heat source against ramp rate, content and losses.

One lumped heat capacity C that loses UA (T - room): C dT/dt = P - UA (T - room). Under constant heat it nears
room + P / UA with the time constant C / UA (Newton cooling, any textbook of heat transfer).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log

from harness.calibration.sizing.row import DoesNotFitError, Row
from plants.media.water import SPECIFIC_HEAT, density

MALT = 1_700.0
"""Specific heat of malt [J/kg K]: 1.6 to 1.75 kJ/kg K, trade handbook tables."""


@dataclass(frozen=True)
class Charge:
    """What is heated.

    Attributes
    ----------
    water : all of it, tank and mash. [L]
    grain : [kg]
    metal : heat capacity of vessels and pipes. [J/K]
    loss : to the room, all together. [W/K]
    room : [degC]
    """

    water: float
    grain: float = 0.0
    metal: float = 0.0
    loss: float = 0.0
    room: float = 20.0

    @property
    def capacity(self) -> float:
        """Of everything; the water weighed at 20 degC. [J/K]"""
        return self.water * 0.001 * density(20.0) * SPECIFIC_HEAT + self.grain * MALT + self.metal

    def power(self, ramp: float, at: float) -> float:
        """Heat that must arrive to ramp by `ramp` [K/s] at a temperature [degC]. [W]"""
        return self.capacity * ramp + self.loss * (at - self.room)

    def ramp(self, power: float, at: float) -> float:
        """Ramp that `power` [W] gives at a temperature [degC]. [K/s]"""
        return (power - self.loss * (at - self.room)) / self.capacity

    def hottest(self, power: float) -> float:
        """Where losses take all of `power` [W]; infinite without losses. [degC]"""
        return self.room + power / self.loss if self.loss else inf

    def seconds(self, power: float, start: float, end: float) -> float:
        """How long `power` [W] takes from `start` to `end` [degC].

        Raises
        ------
        DoesNotFitError
            If it never gets there.

        Examples
        --------
        >>> round(Charge(water=30.0, loss=5.0).seconds(5500.0, 20.0, 67.0) / 60.0, 1)
        18.2
        """
        if not self.loss:
            return self.capacity * (end - start) / power
        hottest = self.hottest(power)
        if hottest <= end:
            raise DoesNotFitError(
                f"{power / 1000.0:.3g} kW come to {hottest:.4g} degC at most against these losses; "
                f"{end:g} degC want more than {self.loss * (end - self.room) / 1000.0:.3g} kW"
            )
        return self.capacity / self.loss * log((hottest - start) / (hottest - end))


def for_ramp(charge: Charge, ramp: float, start: float, end: float, efficiency: float) -> list[Row]:
    """The heat source that a ramp [K/s] from `start` to `end` [degC] wants; `efficiency` 0 to 1.

    Raises
    ------
    DoesNotFitError
        If the room alone heats as fast.
    """
    useful = charge.power(ramp, end)
    if useful <= 0.0:
        raise DoesNotFitError(
            f"a room of {charge.room:g} degC gives that ramp at {end:g} degC by itself, without any source. "
            "See whether room, loss and ramp are as meant"
        )
    minutes = charge.seconds(useful, start, end) / 60.0
    return [
        Row("heat capacity", charge.capacity / 1000.0, "kJ/K", "water 4186 J/kg K, malt 1700 J/kg K"),
        Row("into the water", useful / 1000.0, "kW", f"ramp and losses at {end:g} degC"),
        Row("heat source", useful / efficiency / 1000.0, "kW", f"{100.0 * efficiency:.4g} % arrives"),
        Row("time", minutes, "min", f"{start:g} to {end:g} degC under full heat"),
    ]


def of_source(charge: Charge, source: float, start: float, end: float, efficiency: float) -> list[Row]:
    """What a heat source [W] does from `start` to `end` [degC]."""
    useful = source * efficiency
    rows = [
        Row("heat capacity", charge.capacity / 1000.0, "kJ/K", "water 4186 J/kg K, malt 1700 J/kg K"),
        Row("into the water", useful / 1000.0, "kW", f"{100.0 * efficiency:.4g} % of the source"),
        Row("ramp at the start", charge.ramp(useful, start) * 60.0, "K/min"),
        Row("ramp at the end", charge.ramp(useful, end) * 60.0, "K/min", "losses grow with the temperature"),
        Row("time", charge.seconds(useful, start, end) / 60.0, "min", f"{start:g} to {end:g} degC"),
    ]
    holding = charge.power(0.0, end)
    note = f"at {end:g} degC: losses only"
    if holding < 0.0:
        holding, note = 0.0, f"the room is warmer than {end:g} degC"
    return [*rows, Row("duty to hold", 100.0 * holding / useful, "%", note)]
