"""Settings tried on the full plant: its limits, its cycle time, its burner that lights late."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf

import numpy as np

from harness.calibration.record import HeatRecord
from harness.calibration.rig import Rig
from harness.calibration.step_test.drive import Plan, drive
from harness.calibration.tuning.advice import Advice
from harness.calibration.tuning.controller import OnOffPlan, PidPlan
from harness.calibration.tuning.settings import Settings
from plants import Plant

SETTLED_WITHIN = 0.5
"""What a brewer takes for the set point: common practice, no source. [K]"""
THERMOSTAT = "thermostat"
LATE_KIND, LATE_SIZE = "slow-to-light", "extra"


@dataclass(frozen=True)
class Rehearsal:
    """What is tried, and under what conditions; times in ms of bench time.

    Attributes
    ----------
    make : a plant that stands at its start.
    rig : what heats and what is read.
    setpoint : [degC]
    cycle_ms, every_ms, length_ms : of the output, between two readings, of the whole.
    late_s : by how much the burner lights later than the plant's own; 0 where it has none. [s]
    band : of the thermostat that is tried beside it. [K]
    settled_within : what counts as settled. [K]
    """

    make: Callable[[], Plant]
    rig: Rig
    setpoint: float
    cycle_ms: int = 30_000
    every_ms: int = 1_000
    length_ms: int = 4 * 3_600_000
    late_s: float = 0.0
    band: float = 1.0
    settled_within: float = SETTLED_WITHIN

    def pid(self, settings: Settings) -> Tried:
        """The approach and the hold with a PID."""
        return self._tried(PidPlan(settings, self.setpoint, self.cycle_ms, self.every_ms))

    def on_off(self) -> Tried:
        """The same with a thermostat."""
        return self._tried(OnOffPlan(self.setpoint, self.band, self.every_ms))

    def all_of(
        self, advice: Advice, progress: Callable[[int, int], None] = lambda done, count: None
    ) -> dict[str, Tried]:
        """A thermostat and every setting that may be taken, by name; `progress` counts the trials."""
        taken = [one for one in advice.candidates if not one.refused and one.settings is not None]
        made = {THERMOSTAT: self.on_off()}
        for one in taken:
            progress(len(made), len(taken) + 1)
            assert one.settings is not None
            made[one.rule] = self.pid(one.settings)
        return made

    def starts_at(self) -> float:
        """What the probe reads before anything is done; NaN if nothing. [degC]"""
        (raw,) = self.make().reader([(self.rig.probe, "mdegC")])()
        return float("nan") if raw is None else raw / 1000.0

    def _tried(self, plan: Plan) -> Tried:
        plant = self.make()
        if self.late_s:
            plant.begin_fault(LATE_KIND, None, {LATE_SIZE: self.late_s})
        record = drive(plant, self.rig, plan, every_ms=self.every_ms, longest_ms=self.length_ms).record
        return tried(record, self.setpoint, self.settled_within)


@dataclass(frozen=True)
class Tried:
    """How an approach went, from a cold start to the end of the hold.

    Attributes
    ----------
    reached_s : when it first came within `settled_within` of the set point; infinite if it never did. [s]
    overshoot, undershoot : beyond the set point after that, and below it after the overshoot. [K]
    settled_s : from when on it stayed within `settled_within`; infinite if it did not through the last third,
        so that one that is merely passing at the end is not called settled. [s]
    hold_error : the largest in the last third of what came after reaching it. [K]
    iae : integral of the absolute error after reaching it, an hour. [K min/h]
    switchings : how often heat came on, an hour of that time.
    record : for a plot.
    """

    reached_s: float
    overshoot: float
    undershoot: float
    settled_s: float
    hold_error: float
    iae: float
    switchings: float
    record: HeatRecord


def tried(record: HeatRecord, setpoint: float, settled_within: float) -> Tried:
    """The figures of an approach. All that needs the set point reached is infinite where it was not."""
    time_s, error = record.time_s, record.temperature - setpoint
    near = np.flatnonzero(error >= -settled_within)
    if not len(near):
        return Tried(inf, 0.0, inf, inf, inf, inf, 0.0, record)
    at = int(near[0])
    after, hours = error[at:], (time_s[-1] - time_s[at]) / 3600.0
    peak = int(np.nanargmax(after))
    outside = np.flatnonzero(~(np.abs(after) <= settled_within))
    settled = 0 if not len(outside) else int(outside[-1]) + 1
    last_third = len(after) * 2 // 3
    hold = after[last_third:]
    came_on = np.count_nonzero((record.heat[at + 1 :] > 0.0) & (record.heat[at:-1] <= 0.0))
    steps_s = np.diff(time_s[at:], append=time_s[-1])
    return Tried(
        reached_s=float(time_s[at]),
        overshoot=float(max(0.0, np.nanmax(after))),
        undershoot=float(max(0.0, -np.nanmin(after[peak:]))),
        settled_s=float(time_s[at + settled]) if settled <= last_third else inf,
        hold_error=float(np.nanmax(np.abs(hold))),
        iae=float(np.nansum(np.abs(after) * steps_s) / 60.0 / hours) if hours else inf,
        switchings=float(came_on / hours) if hours else 0.0,
        record=record,
    )


def latest_light_s(plant: type[Plant]) -> float:
    """By how much a plant's burner can light late at most; 0 where it has none. [s]"""
    sizes = [size for fault in plant.faults if fault.kind == LATE_KIND for size in fault.sizes]
    return next((size.high for size in sizes if size.name == LATE_SIZE), 0.0)
