"""unlit tune"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

if TYPE_CHECKING:
    from harness.calibration.process import Estimate, Process
    from harness.calibration.tuning.rehearsal import Rehearsal

DAY_S = 86_400.0
Words = Annotated[list[str] | None, Parameter(negative=())]
Signed = Annotated[str | None, Parameter(allow_leading_hyphen=True)]


def tune(
    file: Path | None = None,
    /,
    *,
    column: str | None = None,
    gain: Signed = None,
    slope: Signed = None,
    dead_time: str | None = None,
    time_constant: str | None = None,
    rule: Words = None,
    cycle: str = "30 s",
    resolution: str = "0.0625 K",
    form: Literal["ideal", "series", "parallel", "band"] = "ideal",
    degrees: Literal["degC", "degF"] = "degC",
    duty: Literal["1", "%", "permille", "0-255", "0-1023"] = "%",
    time: Literal["ms", "s", "min"] = "s",
    plant: str | None = None,
    setup: Words = None,
    heat: str | None = None,
    probe: str | None = None,
    setpoint: str | None = None,
    late: str | None = None,
    length: str | None = None,
) -> int:
    """Find controller settings for a process by published rules, judge them, and try them on a plant.

    The process comes from figures, or from FILE. Half of the cycle is counted to the dead time: a duty that
    holds for a cycle is late by that much.

    Parameters
    ----------
    file
        What `unlit step-test --json` wrote, or a record of heat and temperature as CSV.
    column
        The temperature in a record that has several.
    gain
        Rise for full heat once it has settled, such as "40 K"; with --time-constant. Below 0 where it cools.
    slope
        Rise in time under full heat, such as "0.75 K/min", where losses are too small to see; instead of
        --gain and --time-constant.
    dead_time
        From the change of heat until the temperature moves, such as "60 s".
    time_constant
        From then until 63 % of the rise, such as "1 h 40 min".
    rule
        Only this rule; may be given several times.
    cycle
        Of the time-proportioned output; "0 s" for one that moves at once.
    resolution
        The smallest step of the probe's reading.
    form
        How the firmware writes its settings; "band" is a proportional band in degrees.
    degrees
        In which the firmware counts.
    duty
        What full heat is in the firmware.
    time
        In which the firmware counts times.
    plant
        Try the settings on this plant, beside a thermostat: a ready one, or a Python file with one of your
        own, which is run.
    setup
        A parameter of that plant, such as "liquor_volume=40 L", or a file with the [plant_setup] of a fit;
        may be given several times.
    heat
        The actuator of that plant that heats; each ready plant has its own.
    probe
        Its probe that is controlled; each ready plant has its own.
    setpoint
        Of the trial, from a cold start; without it 66 degC.
    late
        By how much the burner lights late in the trial; without it not at all.
    length
        Of the trial; without it 4 h.
    """
    from harness.calibration.tuning.advice import advise, later
    from harness.calibration.tuning.rules import RULES
    from harness.calibration.tuning.ultimate import shape
    from harness.calibration.tuning.units import FirmwareUnits
    from harness.cli.calibration_output import Watch
    from harness.cli.given import given_value, known_name, needs, wrong
    from harness.report.console import console
    from harness.report.tuning import (
        CAUTION,
        advice_lines,
        best_tried,
        process_line,
        rehearsal_lines,
        told_lines,
    )

    known = [known_name("tune", "rule", name, RULES) for name in rule or ()]
    figures = {"gain": gain, "slope": slope, "dead-time": dead_time, "time-constant": time_constant}
    if file is None or file.suffix == ".json":
        needs("tune", "a record as CSV", {"column": column})
    if plant is None:
        tried = {"setup": setup, "heat": heat, "probe": probe, "setpoint": setpoint, "late": late}
        needs("tune", "--plant", {**tried, "length": length})
    found = None if file is None else _of_file(file, column or "", figures)
    process = found.process if found else _process(figures)
    cycle_s = given_value("tune", "cycle", cycle, "s", least=0.0, most=600.0)
    step = given_value("tune", "resolution", resolution, "K", least=0.0, most=10.0)
    trial = None
    if plant is not None:
        held, lasts = setpoint or "66 degC", length or "4 h"
        trial = _trial(plant, setup, heat, probe, held, cycle_s, late or "0 s", lasts)
    if trial is not None and shape(process)[0] < 0.0:
        raise wrong("tune", f"--plant {plant}: it is tried by its heat, and this process cools. Leave it out")
    out = console()
    out.print(f"process: {process_line(process, cycle_s)}")
    for words in told_lines(found) if found else ():
        out.print(words)
    advice = advise(later(process, cycle_s / 2.0), resolution=step, cycle_s=cycle_s, rules=known)
    for line in advice_lines(advice, FirmwareUnits(form, degrees, duty, time)):
        out.print(line)
    if trial is not None:
        with Watch(f"trying on {plant}", things="trials") as watch:
            rows = trial.all_of(advice, watch.progress)
        for line in rehearsal_lines(trial, rows):
            out.print(line)
    out.print(CAUTION)
    return 3 if advice.best is None or (trial is not None and best_tried(rows) is None) else 0


def _of_file(file: Path, column: str, figures: dict[str, str | None]) -> Estimate:
    """The process that a file tells, with its intervals."""
    from harness.calibration.from_file import process_of
    from harness.errors import WrongUseError

    for name, text in figures.items():
        if text is not None:
            raise WrongUseError(f"unlit tune: {file} and --{name} both say what the process is. Take one.")
    return process_of(file, column)


def _process(figures: dict[str, str | None]) -> Process:
    """The process that a person described, by option."""
    from harness.calibration.process import FirstOrder, Integrating
    from harness.cli.given import given_value
    from harness.errors import WrongUseError

    given = {name: text for name, text in figures.items() if text is not None}
    wanted = {"slope", "dead-time"} if "slope" in given else {"gain", "dead-time", "time-constant"}
    for name in sorted(wanted - set(given)):
        raise WrongUseError(
            f"unlit tune: --{name} is missing. Give --gain, --dead-time and --time-constant, or --slope and "
            "--dead-time."
        )
    for name in sorted(set(given) - wanted):
        raise WrongUseError(f"unlit tune: --{name} does not go with --slope. Leave one of them out.")
    dead_s = given_value("tune", "dead-time", given["dead-time"], "s", least=0.0, most=DAY_S)
    if "slope" in given:
        return Integrating(_signed("slope", given["slope"], "K/min", 1e-6, 1e4) / 60.0, dead_s)
    constant = given["time-constant"]
    constant_s = given_value("tune", "time-constant", constant, "s", least=0.1, most=100 * DAY_S)
    return FirstOrder(_signed("gain", given["gain"], "K", 0.01, 1e6), dead_s, constant_s)


def _signed(option: str, text: str, unit: str, least: float, most: float) -> float:
    """A figure that may be below 0, between two sizes."""
    from harness.cli.given import given_value, wrong
    from harness.quantity import format_number

    value = given_value("tune", option, text, unit)
    if not least <= abs(value) <= most:
        sizes = f"{format_number(least)} to {format_number(most)} {unit}"
        raise wrong("tune", f"--{option} {text} is out of range. Give {sizes}, with a minus where it cools")
    return value


def _trial(
    plant: str, setup: list[str] | None, heat: str | None, probe: str | None,
    setpoint: str, cycle_s: float, late: str, length: str,
) -> Rehearsal:  # fmt: skip
    """The trial on a plant that a person asked for."""
    from harness.calibration.tuning.rehearsal import Rehearsal, latest_light_s
    from harness.cli import given_plant
    from harness.cli.given import given_value, wrong

    kind = given_plant.plant_kind(plant, "tune")
    known = given_plant.setup("tune", kind, given_plant.setup_words("tune", setup))
    most_s = latest_light_s(kind)
    late_s = given_value("tune", "late", late, "s", least=0.0)
    if late_s > most_s:
        can = f"may light up to {most_s:g} s late" if most_s else "has no burner that could light late"
        raise wrong("tune", f"--late {late}: {plant} {can}")
    made = Rehearsal(
        make=lambda: kind(known),
        rig=given_plant.rig(
            "tune", kind, plant, heat=heat, probe=probe, always=None, with_heat=None, seen=None, limit=None
        ),
        setpoint=given_value("tune", "setpoint", setpoint, "degC", least=-50.0, most=1400.0),
        cycle_ms=max(1000, round(cycle_s * 1000.0)),
        length_ms=round(given_value("tune", "length", length, "s", least=600.0, most=86_400.0) * 1000.0),
        late_s=late_s,
    )
    begins = made.starts_at()
    if begins >= made.setpoint - made.settled_within:
        mend = "Give a set point above that, or a colder start with --setup"
        raise wrong("tune", f"--setpoint {setpoint}: {plant} starts at {begins:.4g} degC. {mend}")
    return made
