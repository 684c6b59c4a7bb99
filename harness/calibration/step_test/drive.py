"""A plant driven without a device: heat on and off as a plan says, the probe read at a steady pace."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from harness.calibration.record import HeatRecord
from harness.calibration.rig import Rig
from harness.calibration.step_test.heat_meter import HeatMeter
from plants import Plant

_PROGRESS_MS = 60_000
LEAST_ROWS = 3
"""Of a record: before, no test is over."""


class Plan(Protocol):
    """What decides when heat is wanted."""

    def turn(self, t_ms: int, reading: float) -> bool:
        """Whether heat is wanted from `t_ms` on, with the last reading [degC], NaN without one."""

    def next_change_ms(self, t_ms: int) -> int:
        """The next moment at which `turn` must be asked, whatever is read."""

    def over(self, record: HeatRecord) -> str | None:
        """Why the test may end now; None to go on. Asked each time `wants_look` says so."""

    def wants_look(self, t_ms: int) -> bool:
        """Whether `over` is to be asked at this reading."""


@dataclass(frozen=True)
class Driven:
    """A test that was carried through.

    Attributes
    ----------
    record : heat and readings.
    commands : when the actuators were told what, [ms] and a value each in the plant's order.
    ended : why it was over.
    """

    record: HeatRecord
    commands: tuple[tuple[int, tuple[float, ...]], ...]
    ended: str


def drive(
    plant: Plant,
    rig: Rig,
    plan: Plan,
    *,
    every_ms: int,
    longest_ms: int,
    progress: Callable[[int, int], None] | None = None,
) -> Driven:
    """Carry a plan through on a plant that stands at its start.

    Parameters
    ----------
    every_ms : between two readings.
    longest_ms : the test ends then at the latest.
    progress : called now and then with (bench time, longest) [ms].
    """
    read = plant.reader([(rig.probe, "mdegC")])
    meter = HeatMeter()
    seen = [signal.name for signal in plant.signals].index(rig.seen) if rig.seen else None
    names = [actuator.name for actuator in plant.actuators]
    commands: list[tuple[int, tuple[float, ...]]] = []
    heating = False

    def heat() -> float:
        return float(heating) if seen is None else plant.sample()[seen]

    def command(wanted: bool) -> None:
        on = {*rig.always, *((rig.heat, *rig.with_heat) if wanted else ())}
        values = tuple(float(name in on) for name in names)
        commands.append((plant.time_ms, values))
        plant.command(values)
        meter.change(plant.time_ms, heat())

    plant.on_change = lambda t_ms, _: meter.change(t_ms, heat())
    times: list[int] = []
    readings: list[float] = []
    next_row, ended, reading = 0, "", float("nan")
    command(False)
    while True:
        now = plant.time_ms
        if now == next_row:
            raw = read()[0]
            reading = float("nan") if raw is None else raw / 1000.0
            times.append(now)
            readings.append(reading)
            meter.row(now)
            next_row += every_ms
            if len(times) >= LEAST_ROWS and plan.wants_look(now):
                ended = plan.over(_record(times, readings, meter, rig)) or ""
            if progress is not None and now % _PROGRESS_MS < every_ms:
                progress(now, longest_ms)
        if ended or now >= longest_ms:
            break
        wanted = plan.turn(now, reading)
        if wanted != heating:
            heating = wanted
            command(wanted)
        plant.advance(min(next_row, plan.next_change_ms(now), longest_ms))
    plant.on_change = None
    whole = _record(times, readings, meter, rig)
    return Driven(whole, tuple(commands), ended or f"the longest time, {longest_ms / 60_000:g} min, is over")


def _record(times: list[int], readings: list[float], meter: HeatMeter, rig: Rig) -> HeatRecord:
    return HeatRecord(np.array(times) / 1000.0, meter.shares(), np.array(readings), rig.probe)


def replayed(plant: Plant, commands: tuple[tuple[int, tuple[float, ...]], ...], until_ms: int) -> Plant:
    """The plant, fresh from its start, after the commands up to `until_ms`."""
    for t_ms, values in commands:
        if t_ms > until_ms:
            break
        plant.advance(t_ms)
        plant.command(values)
    plant.advance(until_ms)
    return plant
