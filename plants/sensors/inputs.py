"""A sensor with the electronics that read it: one class for each thing that travels down the cable.

What travels (`raw`) is a resistance [ohm], a voltage [uV] or a code. From it comes either a temperature, as
a transmitter with the right curve (or a wrong one) would show it, or the number a firmware has to convert
itself: mohm, uV, counts of a converter (adc8 to adc24) or the code (count).

`room` is the temperature of the electronics, where thermocouple wires end. [degC]
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar, Protocol

from plants.sensors import digital
from plants.sensors.circuit import Converter, Divider, self_heating
from plants.sensors.cold_junction import compensated, degrees_added, measured_uv
from plants.sensors.thermocouple import Thermocouple

TEMPERATURES = ("mdegC", "mdegF")
COUNTS = tuple(f"adc{bits}" for bits in range(8, 25))
_LARGEST = 2**31 - 1


class Curve(Protocol):
    """Resistance against temperature."""

    def ohm(self, temp: float) -> float:
        """Resistance [ohm] at a temperature [degC]."""

    def temperature(self, ohm: float) -> float:
        """Temperature [degC] at a resistance [ohm]."""


class Input(Protocol):
    """What every kind can tell; `kind` names what travels: ohm, uV or code."""

    kind: ClassVar[str]
    units: ClassVar[tuple[str, ...]]

    @property
    def exact(self) -> bool:
        """Whether the transmitter shows the sensor's own temperature."""

    def raw(self, temp: float, room: float) -> float:
        """What a sensor at `temp` [degC] sends."""

    def shorted(self) -> float:
        """What arrives with the two wires touching."""

    def shown(self, raw: float, room: float) -> float:
        """Temperature [degC] that a transmitter shows."""

    def mistaken(self, raw: float, room: float) -> float:
        """Temperature [degC] that it shows when it is set for another sensor."""

    def converter(self, unit: str) -> Callable[[float], int]:
        """What makes of `raw` a reading in a unit that is no temperature."""

    def broken(self, unit: str) -> int | None:
        """The reading with an open circuit; None where the electronics can tell."""


@dataclass(frozen=True)
class ResistanceInput:
    """A platinum sensor or thermistor, read by an ohmmeter or in a divider with a converter.

    Attributes
    ----------
    curve, other : of the sensor, and of another one for which the electronics may be set by mistake.
    lead : resistance that the electronics do not compensate. [ohm]
    divider : with the sensor and its lead; supply and reference of the converter are the same.
    current, dissipation : measuring current [A], and the heat that warms the sensor by a kelvin [W/K].
    """

    kind: ClassVar[str] = "ohm"
    units: ClassVar[tuple[str, ...]] = (*TEMPERATURES, "mohm", *COUNTS)

    curve: Curve
    other: Curve
    lead: float
    divider: Divider
    current: float = 0.0
    dissipation: float = 1.0

    @property
    def exact(self) -> bool:
        """Whether the transmitter shows the sensor's own temperature."""
        return self.lead == 0.0

    def own_heat(self, temp: float) -> float:
        """How much warmer the measuring current keeps a sensor at `temp` [degC]. [K]"""
        return self_heating(self.current, self.curve.ohm(temp), self.dissipation)

    def raw(self, temp: float, room: float) -> float:
        """Resistance with the lead [ohm]."""
        return max(self.curve.ohm(temp), 0.0) + self.lead

    def shorted(self) -> float:
        """The lead alone [ohm]."""
        return self.lead

    def shown(self, raw: float, room: float) -> float:
        """By the right curve [degC]."""
        return self.curve.temperature(raw)

    def mistaken(self, raw: float, room: float) -> float:
        """By the other curve [degC]."""
        return self.other.temperature(raw)

    def converter(self, unit: str) -> Callable[[float], int]:
        """To mohm or counts."""
        if unit == "mohm":
            return lambda raw: min(round(raw * 1000.0), _LARGEST)
        count, share = Converter(int(unit[3:])).count, self.divider.share
        return lambda raw: count(share(raw))

    def broken(self, unit: str) -> int | None:
        """A divider goes to its rail; an ohmmeter has no reading."""
        if not unit.startswith("adc"):
            return None
        return Converter(int(unit[3:])).count(self.divider.open_share)


@dataclass(frozen=True)
class CoupleInput:
    """A thermocouple with cold junction, amplifier and converter.

    Attributes
    ----------
    couple : its type.
    junction_error : how much too warm the electronics take their cold junction for. [K]
    gain : of the amplifier before the converter.
    reference : of the converter. [V]
    """

    kind: ClassVar[str] = "uV"
    units: ClassVar[tuple[str, ...]] = (*TEMPERATURES, "uV", *COUNTS)

    couple: Thermocouple
    junction_error: float
    gain: float
    reference: float

    @property
    def exact(self) -> bool:
        """Whether the transmitter shows the sensor's own temperature."""
        return self.junction_error == 0.0

    def raw(self, temp: float, room: float) -> float:
        """Voltage against the cold junction [uV]."""
        return measured_uv(self.couple, temp, room)

    def shorted(self) -> float:
        """No voltage: the reading is the cold junction's."""
        return 0.0

    def shown(self, raw: float, room: float) -> float:
        """With the cold junction's voltage added [degC]."""
        return compensated(self.couple, raw, room + self.junction_error)

    def mistaken(self, raw: float, room: float) -> float:
        """With the cold junction's degrees added instead [degC]."""
        return degrees_added(self.couple, raw, room + self.junction_error)

    def converter(self, unit: str) -> Callable[[float], int]:
        """To uV or counts; the converter sees no voltage below 0."""
        if unit == "uV":
            return round
        count, factor = Converter(int(unit[3:])).count, self.gain / (self.reference * 1e6)
        return lambda raw: count(raw * factor)

    def broken(self, unit: str) -> int | None:
        """Counts go to full scale by the burn-out current (common practice, no source)."""
        return Converter(int(unit[3:])).count(1.0) if unit.startswith("adc") else None


@dataclass(frozen=True)
class DigitalInput:
    """A one-wire thermometer of 9 to 12 bits."""

    kind: ClassVar[str] = "code"
    units: ClassVar[tuple[str, ...]] = (*TEMPERATURES, "count")

    bits: int

    @property
    def exact(self) -> bool:
        """Never: it rounds."""
        return False

    def raw(self, temp: float, room: float) -> float:
        """The code."""
        return digital.code(temp, self.bits)

    def shorted(self) -> float:
        """All zeros pass the check: a shorted bus reads as a valid 0 degC."""
        return 0.0

    def shown(self, raw: float, room: float) -> float:
        """Sixteenths of a degree [degC]."""
        return raw / 16.0

    def mistaken(self, raw: float, room: float) -> float:
        """A reader that expects 9 bits, halves of a degree, and takes the code for such [degC]."""
        return raw / 2.0

    def converter(self, unit: str) -> Callable[[float], int]:
        """To the code."""
        return int

    def broken(self, unit: str) -> int | None:
        """No answer on the bus."""
        return None
