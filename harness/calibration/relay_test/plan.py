"""The relay feedback test as a plan: settle, then on/off heat around a set point for some cycles."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from harness.calibration.record import HeatRecord
from harness.calibration.relay_test.cycle import RelayCycle
from harness.calibration.step_test.ceiling import Ceiling

_SMOOTH = 0.1
"""Readings are averaged over this share of the shorter part of a cycle before the extremes are taken."""
_NEVER_MS = 2**62


@dataclass(frozen=True)
class RelayTest:
    """What is asked for.

    Attributes
    ----------
    settle_ms : without heat at the start. [ms]
    rise : set point above the reading after settling. [K]
    hysteresis : to both sides of the set point. [K]
    cycles : whole cycles after the first, over which the figures are taken; 2 or more.
    limit : no heat at or above this reading. [degC]
    """

    settle_ms: int = 300_000
    rise: float = 5.0
    hysteresis: float = 0.2
    cycles: int = 3
    limit: float = 95.0


class RelayPlan:
    """On/off heat; it is over after enough cycles."""

    def __init__(self, test: RelayTest) -> None:
        self._test = test
        self._settled: list[float] = []
        self._on = False
        self._ceiling = Ceiling(test.limit)
        self._switches_ms: list[tuple[int, bool]] = []
        self.set_point = float("nan")

    def turn(self, t_ms: int, reading: float) -> bool:
        """Whether heat is wanted from `t_ms` on."""
        if t_ms < self._test.settle_ms:
            if np.isfinite(reading):
                self._settled.append(reading)
            return False
        if np.isnan(self.set_point):
            self.set_point = float(np.mean(self._settled or [reading])) + self._test.rise
        self._ceiling.look(reading)
        wanted = self._on
        if reading <= self.set_point - self._test.hysteresis:
            wanted = True
        elif not reading < self.set_point + self._test.hysteresis:  # too hot, or no reading
            wanted = False
        wanted = wanted and not self._ceiling.passed
        if wanted != self._on:
            self._on = wanted
            self._switches_ms.append((t_ms, wanted))
        return wanted

    def next_change_ms(self, t_ms: int) -> int:
        """Only readings switch, but for the end of settling."""
        return self._test.settle_ms if t_ms < self._test.settle_ms else _NEVER_MS

    def wants_look(self, t_ms: int) -> bool:
        """Once there is an answer."""
        return self._ceiling.passed or self.complete

    def over(self, record: HeatRecord) -> str | None:
        """Why the test may end now."""
        if self._ceiling.passed:
            return self._ceiling.told()
        return f"{self._test.cycles} cycles after the first are over" if self.complete else None

    @property
    def complete(self) -> bool:
        """Whether all cycles were seen."""
        return not self._ceiling.passed and len(self._offs()) > self._test.cycles + 1

    def _offs(self) -> list[int]:
        return [t_ms for t_ms, on in self._switches_ms if not on]

    def cycle(self, record: HeatRecord, start: float) -> RelayCycle:
        """The median cycle of the record; `start` is the temperature without heat. [degC]

        Raises
        ------
        ValueError
            With fewer than two whole cycles.
        """
        offs = [t_ms / 1000.0 for t_ms in self._offs()][1:]
        ons = [t_ms / 1000.0 for t_ms, on in self._switches_ms if on]
        if len(offs) < 3:
            raise ValueError("fewer than two whole cycles were seen. Allow more time or a lower set point.")
        swings, on_s, off_s = [], [], []
        for begun, ended in pairwise(offs):
            on = next(one for one in ons if begun < one < ended)
            off_s.append(on - begun)
            on_s.append(ended - on)
            rows = (record.time_s >= begun) & (record.time_s < ended) & np.isfinite(record.temperature)
            readings = record.temperature[rows]
            part = min(on_s[-1], off_s[-1]) / (ended - begun)
            width = max(1, round(_SMOOTH * part * len(readings)))
            smooth = np.convolve(readings, np.ones(width) / width, "valid")
            swings.append(float(np.ptp(smooth)))
        return RelayCycle(
            float(np.median(swings)), float(np.median(on_s)), float(np.median(off_s)),
            self.set_point - start, self._test.hysteresis,
        )  # fmt: skip
