"""Between sensor and firmware: leads, divider, amplifier, converter, heat of the measuring current."""

from __future__ import annotations

from dataclasses import dataclass


def lead_error(wires: int, one_lead: float, mismatch: float = 0.0) -> float:
    """Resistance [ohm] that the leads add to the reading.

    Parameters
    ----------
    wires : 2, 3 or 4. Two: there and back in series. Three: the compensation takes the third lead for the
        others, so their difference remains. Four: nothing.
    one_lead : resistance of one lead. [ohm]
    mismatch : how much more the lead has that is not compensated (3 wires). [ohm]

    Raises
    ------
    ValueError
        If `wires` is none of 2, 3, 4.
    """
    if wires not in (2, 3, 4):
        raise ValueError(f"lead_error: wires = {wires}. Use 2, 3 or 4.")
    return {2: 2.0 * one_lead, 3: mismatch, 4: 0.0}[wires]


def self_heating(current: float, ohm: float, dissipation: float) -> float:
    """How much warmer than its surroundings the measuring current keeps the sensor. [K]

    Parameters
    ----------
    current : through the sensor. [A]
    ohm : of the sensor. [ohm]
    dissipation : power that warms it by a kelvin where it sits. [W/K]

    >>> round(self_heating(1e-3, 138.5, 0.01), 6)
    0.01385
    """
    return current * current * ohm / dissipation


@dataclass(frozen=True)
class Divider:
    """A sensor and a fixed resistor between the supply and ground.

    Attributes
    ----------
    fixed : the fixed resistor; more than 0. [ohm]
    sensor_low : True if the sensor is between the measuring point and ground.

    Examples
    --------
    >>> Divider(10e3).share(10e3), Divider(4.7e3, sensor_low=False).share(4.7e3)
    (0.5, 0.5)
    """

    fixed: float
    sensor_low: bool = True

    def share(self, ohm: float) -> float:
        """Voltage at the measuring point as a share of the supply, 0 to 1."""
        return (ohm if self.sensor_low else self.fixed) / (ohm + self.fixed)

    def ohm(self, share: float) -> float:
        """The sensor that gives `share` (more than 0, less than 1): exact to rounding."""
        ratio = share / (1.0 - share)
        return self.fixed * ratio if self.sensor_low else self.fixed / ratio

    @property
    def open_share(self) -> float:
        """What a broken sensor circuit gives."""
        return 1.0 if self.sensor_low else 0.0


@dataclass(frozen=True)
class Converter:
    """Analogue to digital, one polarity: 0 to 2^bits - 1 counts for 0 to the reference.

    A code stands for the span of one step from its own voltage up, as data sheets define it, so that it comes
    back within half a step as `share` gives the middle of the span.

    Examples
    --------
    >>> Converter(10).count(0.5), Converter(10).count(1.2), Converter(10).count(-0.1)
    (512, 1023, 0)
    """

    bits: int

    def count(self, share: float) -> int:
        """Counts at a voltage that is `share` of the reference; held to its ends."""
        steps = 1 << self.bits
        return 0 if share < 0.0 else steps - 1 if share >= 1.0 else int(share * steps)

    def share(self, count: int) -> float:
        """Share of the reference that `count` stands for; off by at most half a step within 0 to 1."""
        return (count + 0.5) / (1 << self.bits)
