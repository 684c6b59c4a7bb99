"""A PID with a time-proportioned output, as a plan that drives a plant: what a firmware does with settings.

Position form, derivative on the measurement and filtered, the integral held while the output is at its end.
Computed at each reading; the on-time is taken at the start of each cycle, and pulses too short for a valve
are left out. The same way of working as the reference controller's mash loop (firmware_stubs/CONTROLLER.md),
here in floating point.
"""

from __future__ import annotations

from math import isnan

from harness.calibration.record import HeatRecord
from harness.calibration.tuning.settings import FILTER_SHARE, Settings

SHORTEST_PULSE_MS, SHORTEST_SHARE = 2_000, 10
"""A pulse shorter than this, or than a tenth of the cycle where that is less, is left out."""


class TimeProportioned:
    """A duty as pulses: asked at any time, on for the duty's share of each cycle."""

    def __init__(self, cycle_ms: int) -> None:
        self._cycle_ms = cycle_ms
        self._from_ms, self._on_ms = -cycle_ms, 0

    def wants(self, t_ms: int, duty: float) -> bool:
        """Whether heat is wanted from `t_ms` on; a new cycle takes over `duty`."""
        if t_ms >= self._from_ms + self._cycle_ms:
            self._from_ms = t_ms
            self._on_ms = self._pulse_ms(duty)
        return t_ms < self._from_ms + self._on_ms

    def _pulse_ms(self, duty: float) -> int:
        on_ms = round(duty * self._cycle_ms)
        shortest_ms = min(SHORTEST_PULSE_MS, self._cycle_ms // SHORTEST_SHARE)
        if on_ms < shortest_ms:
            return 0
        return self._cycle_ms if on_ms > self._cycle_ms - shortest_ms else on_ms

    def next_ms(self, t_ms: int) -> int:
        """The next moment at which `wants` may change."""
        end_ms = self._from_ms + self._on_ms
        return end_ms if t_ms < end_ms else self._from_ms + self._cycle_ms


class PidPlan:
    """The controller in the loop, from the first reading on; a plan for `calibration.drive`.

    Parameters
    ----------
    settings : of the PID.
    setpoint : [degC]
    cycle_ms : of the output.
    every_ms : between two readings.
    """

    def __init__(self, settings: Settings, setpoint: float, cycle_ms: int, every_ms: int) -> None:
        self._settings, self._setpoint, self._every_s = settings, setpoint, every_ms / 1000.0
        self._output = TimeProportioned(cycle_ms)
        self._read_ms = -1
        self._integral = self._filtered = self._duty = 0.0

    def turn(self, t_ms: int, reading: float) -> bool:
        """Whether heat is wanted from `t_ms` on."""
        if t_ms % round(self._every_s * 1000) == 0 and t_ms != self._read_ms and not isnan(reading):
            self._duty = self._computed(reading, first=self._read_ms < 0)
            self._read_ms = t_ms
        return self._output.wants(t_ms, self._duty)

    def _computed(self, reading: float, *, first: bool) -> float:
        s, step_s = self._settings, self._every_s
        before = reading if first else self._filtered
        self._filtered = before + step_s / (s.derivative_s / FILTER_SHARE + step_s) * (reading - before)
        error = self._setpoint - reading
        rest = s.gain * error - s.gain * s.derivative_s * (self._filtered - before) / step_s
        total = rest + self._integral
        change = s.gain * error * step_s / s.integral_s
        if not ((total >= 1.0 and change > 0.0) or (total <= 0.0 and change < 0.0)):
            self._integral = min(max(self._integral + change, 0.0), 1.0)
        return min(max(rest + self._integral, 0.0), 1.0)

    def next_change_ms(self, t_ms: int) -> int:
        """The next edge of a pulse."""
        return self._output.next_ms(t_ms)

    def wants_look(self, t_ms: int) -> bool:
        """Never: it goes on to its end."""
        return False

    def over(self, record: HeatRecord) -> str | None:
        """Never before its time."""
        return None


class OnOffPlan(PidPlan):
    """A thermostat: on below the set point less a band, off at the set point."""

    def __init__(self, setpoint: float, band: float, every_ms: int) -> None:
        super().__init__(Settings(1.0, 1.0), setpoint, every_ms, every_ms)
        self._band, self._on = band, False

    def turn(self, t_ms: int, reading: float) -> bool:
        """Whether heat is wanted from `t_ms` on."""
        if reading >= self._setpoint:
            self._on = False
        elif reading <= self._setpoint - self._band:
            self._on = True
        return self._on

    def next_change_ms(self, t_ms: int) -> int:
        """It changes at readings only."""
        return t_ms + round(self._every_s * 1000)
