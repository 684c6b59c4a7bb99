"""Settings by rule as a person reads them: a table of what may be taken, and why the rest may not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import inf, isfinite, isinf

import numpy as np
from rich.console import RenderableType
from rich.table import Table

from harness.calibration.process import Estimate, FirstOrder, Process
from harness.calibration.tuning.advice import Advice, Candidate
from harness.calibration.tuning.rehearsal import THERMOSTAT, Rehearsal, Tried
from harness.calibration.tuning.rules import RULES
from harness.calibration.tuning.settings import Settings
from harness.calibration.tuning.units import FORMS, Figure, FirmwareUnits, NoSuchFormError
from harness.report.columns import table
from harness.report.figures import number
from harness.report.plain import plain

CAUTION = (
    "Settings from a model are where to begin on a real rig, not where to end: stand beside the first heat "
    "with them. They replace no high limit and no flame safeguard; local codes decide."
)
LOOSE = 0.25
"""Half an interval that is a larger share of its figure is told of: common practice, no source."""
ABOUT = 1.05
"""Settling times within this factor are as soon as any."""


def lasting(seconds: float) -> str:
    """A time as a person says it: `45 s`, `12 min`, `1 h 40 min`; `-` for endless."""
    if isinf(seconds):
        return "-"
    if seconds < 120.0:
        return f"{number(round(seconds, 1))} s"
    minutes = round(seconds / 60.0)
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60:02d} min"


def process_line(process: Process, cycle_s: float = 0.0) -> str:
    """The process in one line; with half of a cycle [s] that the rules are given as dead time, too."""
    dead = f"dead time {lasting(process.dead_time_s)}"
    if cycle_s:
        dead += f" (and {lasting(cycle_s / 2.0)}, half a cycle)"
    if isinstance(process, FirstOrder):
        return f"gain {number(process.gain)} K, {dead}, time constant {lasting(process.time_constant_s)}"
    slope = f"{number(abs(process.slope) * 60.0)} K/min"
    told = "rises by {} under full heat" if process.slope > 0.0 else "falls by {} under full cooling"
    return f"{told.format(slope)}, {dead}, no losses to speak of"


def told_lines(found: Estimate) -> Iterator[str]:
    """How well a file tells its process, and what settings made of it may suffer from."""
    for note in found.notes:
        yield f"Mind: {plain(note)}"
    said, loose = [], []
    for name, (value, interval) in found.figures().items():
        if interval is None:
            continue
        what, unit, factor = _TOLD[name]
        low, high = (number(end * factor) if isfinite(end) else "?" for end in (interval.low, interval.high))
        ends = f"{low} to {high} {unit}"
        said.append(f"{what} {ends}")
        if not interval.high - interval.low <= 2.0 * LOOSE * abs(value):
            loose.append(f"the {what} ({ends})")
    if said:
        yield f"  95 %: {', '.join(said)}"
    if loose:
        mend = "A longer step test, with full heat read every second, tells more."
        yield f"Mind: hardly told: {' and '.join(loose)}. Settings may be as far off. {mend}"


_TOLD: Mapping[str, tuple[str, str, float]] = {
    "gain": ("gain", "K", 1.0),
    "slope": ("slope", "K/min", 60.0),
    "dead_time_s": ("dead time", "s", 1.0),
    "time_constant_s": ("time constant", "min", 1.0 / 60.0),
}
"""How a figure of a process is called, in what unit, and that unit's size."""


def advice_lines(advice: Advice, units: FirmwareUnits) -> Iterator[RenderableType]:
    """What each rule's settings do, what they are, why some are refused, and the advice."""
    usable = [one for one in advice.candidates if not one.refused]
    if usable:
        yield _judged(usable)
        yield _settings(usable, units)
    yield from _refusals(advice.candidates)
    if advice.best is None or advice.best.settings is None:
        yield f"No advice: {advice.reason}."
        return
    rule = RULES[advice.best.rule]
    yield f"Begin with {rule.name}: {advice.reason}. Source: {rule.source}; its aim: {rule.aim}."
    yield _written(advice.best.settings, units)


def _judged(usable: Sequence[Candidate]) -> Table:
    """IAE and what comes before it: after a step of 1 K; load: the integral of the error after full heat."""
    heads = ("overshoot", "settles", "IAE\nK min", "load\nK min", "Ms")
    made = table("on the model", *heads, last="gain\nmargin")
    for one in usable:
        assert one.figures is not None
        assert one.margins is not None
        made.add_row(
            one.rule,
            f"{one.figures.overshoot:.0%}",
            lasting(one.figures.settling_s),
            f"{one.figures.iae / 60.0:.3g}",
            number(float(f"{one.figures.load_iae / 60.0:.3g}")),
            f"{one.margins.sensitivity:.2f}",
            number(round(one.margins.gain, 2)),
        )
    return made


def _settings(usable: Sequence[Candidate], units: FirmwareUnits) -> Table:
    rows = {one.rule: _figures(one.settings, units) for one in usable if one.settings is not None}
    heads = next((figures for figures in rows.values() if figures), ())
    made = table(f"settings, {units.form}", *map(_head, heads), last="")
    for rule, figures in rows.items():
        made.add_row(rule, *([_value(figure) for figure in figures] or ["no such form"]))
    return made


def _head(figure: Figure) -> str:
    """Name and unit of a figure, narrow enough for three beside the name of a rule."""
    return f"{figure.name}\n{figure.unit}".replace(" per ", "\nper ").replace(" times ", "\ntimes ")


def _figures(settings: Settings, units: FirmwareUnits) -> tuple[Figure, ...]:
    try:
        return units.figures(settings)
    except NoSuchFormError:
        return ()


def _value(figure: Figure) -> str:
    return "off" if isinf(figure.value) else number(figure.value)


def _refusals(candidates: Sequence[Candidate]) -> Iterator[str]:
    """One line a reason, with all that it is against."""
    by_reason: dict[str, list[str]] = {}
    for one in candidates:
        if one.refused:
            figure = f" {one.refused.figure}" if one.refused.figure else ""
            by_reason.setdefault(one.refused.why, []).append(f"{one.rule}{figure}")
    for why, names in by_reason.items():
        yield f"Not taken, {why}: {', '.join(names)}."


def _written(settings: Settings, units: FirmwareUnits) -> Table:
    """The settings in every form, in the firmware's units."""
    made = table("", last="")
    made.show_header = False
    for form in FORMS:
        try:
            figures = FirmwareUnits(form, units.degrees, units.duty, units.time).figures(settings)
            said = ", ".join(f"{one.name} {_value(one)} {one.unit}" for one in figures)
        except NoSuchFormError as error:
            said = str(error)
        made.add_row(f"  {form}", said)
    return made


def rehearsal_lines(rehearsal: Rehearsal, rows: Mapping[str, Tried]) -> Iterator[RenderableType]:
    """What settings by name, and a thermostat, did on the full plant."""
    made = table("tried", "reached", "overshoot", "undershoot", "settled", "in hold", last="heat on")
    for name, went in rows.items():
        made.add_row(
            name,
            lasting(went.reached_s),
            *("-" if isinf(went.reached_s) else f"{one:.2f} K" for one in (went.overshoot, went.undershoot)),
            lasting(went.settled_s),
            "-" if isinf(went.hold_error) else f"{went.hold_error:.2f} K",
            "-" if isinf(went.reached_s) else f"{went.switchings:.0f}/h",
        )
    yield made
    within = f"within {number(rehearsal.settled_within)} K of {number(rehearsal.setpoint)} degC"
    yield f"settled: {within}; in hold: the largest error in the last third; heat on: how often it came on"
    best = best_tried(rows)
    if best is not None:
        beside = _beside(rows[best], rows[THERMOSTAT])
        yield f"On this plant take {best}: it settles as soon as any, {beside}."
    elif all(isinf(went.reached_s) for went in rows.values()):
        came = max(float(np.nanmax(went.record.temperature, initial=-inf)) for went in rows.values())
        wanted = number(rehearsal.setpoint)
        mend = "Give a set point within reach, longer, or more heat with --setup"
        yield f"None came to {wanted} degC; the furthest was {number(round(came, 2))} degC. {mend}."
    else:
        yield "None of them settled in the time of the trial. Give it longer, or look at the heat."


def best_tried(rows: Mapping[str, Tried]) -> str | None:
    """Of those that settled about as soon as any, the one that held closest; None where none settled."""
    tried = {name: went for name, went in rows.items() if name != THERMOSTAT}
    soonest_s = min((went.settled_s for went in tried.values()), default=inf)
    among = [name for name, went in tried.items() if went.settled_s <= ABOUT * soonest_s < inf]
    return min(among, key=lambda name: tried[name].hold_error, default=None)


def _beside(went: Tried, thermostat: Tried) -> str:
    """How a trial compares with a thermostat's."""
    if isinf(thermostat.hold_error):
        return "where a thermostat never comes to the set point"
    held = [f"holds within {one.hold_error:.2f} K" for one in (went, thermostat)]
    return f"and {held[0]} where a thermostat {held[1]}"
