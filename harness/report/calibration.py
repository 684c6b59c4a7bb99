"""A step test or a relay test as a person reads it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from rich.console import RenderableType
from rich.text import Text

from harness.calibration.identify.told import Told
from harness.calibration.process import Estimate, FirstOrder, Integrating, Interval, Process
from harness.calibration.record import HeatRecord
from harness.calibration.relay_test.on_plant import RelayResult
from harness.calibration.step_test.on_plant import StepTest
from harness.calibration.truth.of_plant import Truth
from harness.report.columns import table
from harness.report.figures import clock, number, wall
from harness.report.plain import plain
from harness.report.plot import plot
from harness.report.spark import spark

CAUTION = (
    "Figures of a model are a starting point for a real rig, and no permission to light a burner: test it "
    "again there, with the high limit in place and a person beside it."
)
_WIDTH, _MARGIN = 76, 7
_ROWS = (
    ("gain", "gain", "K"),
    ("dead_time_s", "dead time", "s"),
    ("time_constant_s", "time constant", "s"),
    ("slope", "slope", "K/min"),
)


def step_test_block(test: StepTest, wall_s: float, *, ascii_only: bool) -> Iterator[RenderableType]:
    """Everything a step test found."""
    on = f" on {plain(test.device)}" if test.device else ""
    yield Text(f"Step test of {plain(test.plant)}{on}", "bold")
    yield Text(f"  heat {plain(test.rig.heat)}, probe {plain(test.rig.probe)}")
    yield Text(_phases(test))
    yield Text(f"  {clock(_end_ms(test.record))} of bench time in {wall(wall_s)}: {plain(test.ended)}")
    yield from _picture(test.record, test.told, ascii_only)
    if test.told is not None:
        yield from _figures(test.told, test.truth)
        yield from _methods(test)
    yield from _heat_words(test)
    if test.truth is not None:
        yield from _operating_point(test.truth)
    yield from _notes(test.notes)


def relay_test_block(test: RelayResult, wall_s: float, *, ascii_only: bool) -> Iterator[RenderableType]:
    """Everything a relay test found."""
    yield Text(f"Relay test of {plain(test.plant)}", "bold")
    rig, at = test.rig, number(test.set_point)
    yield Text(f"  heat {plain(rig.heat)}, probe {plain(rig.probe)}, set point {at} degC")
    yield Text(f"  {clock(_end_ms(test.record))} of bench time in {wall(wall_s)}: {plain(test.ended)}")
    yield from _picture(test.record, test.told, ascii_only)
    if test.cycle is not None:
        yield Text(
            f"  cycle: {number(test.cycle.on_s)} s on, {number(test.cycle.off_s)} s off, swing "
            f"{number(test.cycle.swing)} K"
        )
        try:
            gain = f"{number(100.0 * test.cycle.ultimate_gain)} %/K"
        except ValueError as error:
            gain = f"not told: {error}"
        yield Text(f"  ultimate period {number(test.cycle.period_s)} s, ultimate gain {gain}")
    if test.exact is not None:
        yield Text(f"  by the exact limit cycle: {_short(test.exact)}")
    if test.told is not None:
        yield from _figures(test.told, None)
    yield from _notes(test.notes)


def _end_ms(record: HeatRecord) -> int:
    return round(float(record.time_s[-1]) * 1000.0)


def _phases(test: StepTest) -> str:
    procedure = test.procedure
    parts = [f"{name} {clock(at)}" for name, at in procedure.phases(_end_ms(test.record))]
    pulse, cycle = procedure.pulse_ms / 1000.0, procedure.cycle_ms / 1000.0
    heat = plain(test.rig.heat)
    return f"  {', '.join(parts)}\n  ({heat} on for {number(pulse)} s of each {number(cycle)} s)"


def _picture(record: HeatRecord, found: Told | None, ascii_only: bool) -> Iterator[RenderableType]:
    curves = [record.temperature] + ([found.fit.predicted] if found else [])
    minutes = record.time_s / 60.0
    yield Text("")
    lines = list(plot(minutes, curves, width=_WIDTH, ascii_only=ascii_only, x_unit="min", y_unit="degC"))
    for line in lines:
        yield Text(f"  {line}", no_wrap=True)
    margin = len(lines[-2]) - len(lines[-2].lstrip(" ")) + 1 if lines else _MARGIN
    strip = spark(record.heat, _WIDTH - margin - 1, np.mean, ascii_only=ascii_only)
    yield Text(f"  {'heat':>{margin - 1}} {strip}", no_wrap=True)
    curves_are = "as read, and what the fit says" if found else "as read"
    yield Text(f"  {'':>{margin}}{plain(record.probe)} {curves_are}", "dim")
    yield Text("")


def _figures(found: Told, truth: Truth | None) -> Iterator[RenderableType]:
    heads = ["figure", "found", "95 % interval"] + (["truth", "half rule"] if truth else [])
    lines = table(*heads[:-1], last=heads[-1])
    estimates: list[Estimate] = [found.integrating]
    if found.first_order is not None:
        estimates.insert(0, found.first_order)
    shown = set()
    for estimate in estimates:
        for name, what, unit in _ROWS:
            figure = estimate.figures().get(name)
            if figure is None or name in shown:
                continue
            shown.add(name)
            value, interval = figure
            cells = [what, _figure(value, name, unit), _interval(interval, name)]
            if truth is not None:
                cells += [_of(truth.least_squares, name), _of(truth.half_rule, name)]
            lines.add_row(*(Text(cell) for cell in cells))
    if found.first_order is None:
        lines.add_row(Text("gain"), Text("not told"), Text(f"at least {number(found.gain_at_least)} K"))
    yield lines


def _scaled(value: float, name: str) -> float:
    return value * 60.0 if name == "slope" else value


def _figure(value: float, name: str, unit: str) -> str:
    return f"{number(_scaled(value, name))} {unit}"


def _interval(interval: Interval | None, name: str) -> str:
    if interval is None:
        return "-"
    ends = [
        number(_scaled(end, name)) if math.isfinite(end) else "?" for end in (interval.low, interval.high)
    ]
    return f"{ends[0]} to {ends[1]}"


def _of(process: FirstOrder | None, name: str) -> str:
    return "-" if process is None else number(_scaled(float(getattr(process, name)), name))


def _short(process: Process) -> str:
    if isinstance(process, Integrating):
        return f"slope {number(60.0 * process.slope)} K/min, dead time {number(process.dead_time_s)} s"
    return (
        f"gain {number(process.gain)} K, dead time {number(process.dead_time_s)} s, "
        f"time constant {number(process.time_constant_s)} s"
    )


def _methods(test: StepTest) -> Iterator[RenderableType]:
    lines = table("method", "gain", "dead time", "time constant", last="on what")
    for one in test.methods:
        process = one.process
        if isinstance(process, FirstOrder):
            cells = [process.gain, process.dead_time_s, process.time_constant_s]
            figures = [f"{number(value)} {unit}" for value, unit in zip(cells, ("K", "s", "s"), strict=True)]
        elif isinstance(process, Integrating):
            figures = [f"{number(60.0 * process.slope)} K/min", f"{number(process.dead_time_s)} s", "-"]
        else:
            figures = ["-", "-", "-"]
        lines.add_row(*(Text(cell) for cell in (one.name, *figures)), Text(plain(one.note)))
    yield Text("")
    yield lines


def _heat_words(test: StepTest) -> Iterator[RenderableType]:
    pulse_s, heat_s = test.procedure.pulse_ms / 1000.0, test.pulse_heat_s
    if not test.rig.seen or not math.isfinite(heat_s) or abs(heat_s - pulse_s) < 0.01 * pulse_s:
        return
    yield Text(
        f"each pulse of {number(pulse_s)} s gave {number(heat_s)} s of full heat (valve travel, lighting). "
        f"All figures are per heat that flowed ({plain(test.rig.seen)}); at this duty a controller sees "
        f"{100.0 * heat_s / pulse_s:.0f} % of the gain."
    )


def _operating_point(truth: Truth) -> Iterator[RenderableType]:
    point = ", ".join(f"{name} {number(value)}" for name, value in truth.point.items())
    yield Text(
        f"truth: the plant made linear as it stood at {clock(round(truth.at_s * 1000))} ({point} degC), "
        "reduced by least squares under the heat of this test, and by the half rule; its final gain is "
        f"{number(truth.gain)} K."
    )


def _notes(notes: Sequence[str]) -> Iterator[RenderableType]:
    for note in notes:
        yield Text(f"note: {plain(note)}")
    yield Text(CAUTION, "dim")
