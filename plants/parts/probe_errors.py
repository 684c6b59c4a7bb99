"""What is added to, or takes the place of, the temperature that a faulty probe reports."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import NormalDist

from plants.kernel.builder import ActiveFault
from plants.kernel.noise import draw
from plants.parts.part import Part

_NORMAL = NormalDist()


class ReadingErrors(Part):
    """Errors in force on one probe; a pure function of seed, probe and time.

    Attributes
    ----------
    held : temperature that hung electronics show, or None. [degC]
    power_on : temperature shown since a restart, or None. [degC]
    """

    saved = ("held", "power_on", "_offset", "_rate", "_since_ms", "_sigma", "_spikes")

    def __init__(self, seed: int, name: str) -> None:
        self._seed, self._name = seed, name
        self.held: float | None = None
        self.power_on: float | None = None
        self._offset = self._rate = self._sigma = 0.0
        self._since_ms = 0
        self._spikes: list[tuple[float, float, float]] = []

    def change(self, kind: str, mine: Sequence[ActiveFault], now_ms: int) -> None:
        """Take over the faults of one kind that are in force on this probe."""
        sizes = [fault.sizes for fault in mine]
        if kind == "probe-offset":
            self._offset = sum(size["offset"] for size in sizes)
        elif kind == "probe-drift":
            self._since_ms = self._since_ms if self._rate else now_ms
            self._rate = sum(size["rate"] for size in sizes)
        elif kind == "probe-noise":
            self._sigma = sum(size["sigma"] ** 2 for size in sizes) ** 0.5
        elif kind == "probe-spikes":
            self._spikes = [(size["height"], size["every"], size["length"]) for size in sizes]
        elif kind == "probe-power-on":
            self.power_on = sizes[-1]["reading"] if sizes else None

    @property
    def any(self) -> bool:
        """Whether anything is wrong."""
        there = self.held is not None or self.power_on is not None
        return there or bool(self._offset or self._rate or self._sigma or self._spikes)

    def applied(self, temp: float, time_ms: int) -> float:
        """What stands for the true `temp` [degC] at a time."""
        if self.power_on is not None:
            return self.power_on
        if self.held is not None:
            temp = self.held
        temp += self._offset + self._rate * (time_ms - self._since_ms) / 3.6e6
        if self._sigma:
            chance = draw(self._seed, f"{self._name} burst", time_ms)
            temp += self._sigma * _NORMAL.inv_cdf(min(max(chance, 1e-9), 1.0 - 1e-9))
        return temp + sum(self._spike(*spike, time_ms) for spike in self._spikes)

    def _spike(self, height: float, every_s: float, length_s: float, time_ms: int) -> float:
        """Time is cut into pieces as long as a spike; chance picks those that have one."""
        piece = time_ms // max(1, round(length_s * 1000.0))
        return height if draw(self._seed, f"{self._name} spike", piece) < length_s / every_s else 0.0
