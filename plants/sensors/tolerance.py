"""How far a sensor may be off by its class, and where in that band one sensor lies."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Tolerance:
    """A class: the error is at most the sum, or the larger, of a constant and a share of |t|.

    Attributes
    ----------
    name : as the standard names it.
    constant : [K]
    share : of |t| in degC. [K/K]
    added : True for the sum (platinum), False for the larger (thermocouples).
    source : where the figures are from.

    Examples
    --------
    >>> round(PLATINUM["B"].limit(66.0), 3), COUPLES["K"]["2"].limit(100.0)
    (0.63, 2.5)
    """

    name: str
    constant: float
    share: float
    added: bool
    source: str

    def limit(self, temp: float) -> float:
        """Largest error [K] at `temp` [degC]."""
        part = self.share * abs(temp)
        return self.constant + part if self.added else max(self.constant, part)

    def error(self, temp: float, place: float) -> float:
        """Error [K] of the sensor that lies at `place` in the band, -1 to 1, at `temp` [degC]."""
        return place * self.limit(temp)


def _platinum(name: str, constant: float, share: float) -> Tolerance:
    return Tolerance(name, constant, share, True, "IEC 60751")


def _couple(name: str, constant: float, share: float) -> Tolerance:
    return Tolerance(name, constant, share, False, "IEC 60584-1, from memory")


PLATINUM = {
    "AA": _platinum("AA", 0.10, 0.0017),
    "A": _platinum("A", 0.15, 0.002),
    "B": _platinum("B", 0.30, 0.005),
}
_BASE_METAL = {"1": _couple("1", 1.5, 0.004), "2": _couple("2", 2.5, 0.0075)}
COUPLES = {
    "K": _BASE_METAL,
    "J": _BASE_METAL,
    "T": {"1": _couple("1", 0.5, 0.004), "2": _couple("2", 1.0, 0.0075)},
}
DIGITAL = Tolerance("sheet", 0.5, 0.0, True, "data sheet text, -10 to 85 degC")
"""Of the one-wire thermometer; outside that range its sheet allows more."""
