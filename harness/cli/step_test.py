"""unlit step-test"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from harness.cli.options import DEFAULT_LOGBOOK, LogbookOption, Whole

if TYPE_CHECKING:
    from harness.calibration.rig import Rig
    from harness.calibration.step_test.procedure import Procedure
    from plants import Plant

Flag = Annotated[bool, Parameter(negative=())]
Words = Annotated[list[str] | None, Parameter(negative=())]


def step_test(
    plant: str,
    /,
    *,
    device: str | None = None,
    heat: str | None = None,
    probe: str | None = None,
    always: Words = None,
    with_heat: Words = None,
    seen: str | None = None,
    setup: Words = None,
    settle: str = "5 min",
    full: str = "6 min",
    settle_again: str = "5 min",
    duty: str = "20 %",
    cycle: str = "30 s",
    longest: str = "4 h",
    shortest: str = "1 h",
    precision: str = "5 %",
    every: str = "1 s",
    limit: str | None = None,
    relay: Flag = False,
    rise: str | None = None,
    hysteresis: str | None = None,
    cycles: Whole | None = None,
    truth: Flag = False,
    seed: Whole = 1,
    panel: Words = None,
    mode: Whole | None = None,
    wiring: Path | None = None,
    json: Path | None = None,
    csv: Path | None = None,
    logbook: LogbookOption = DEFAULT_LOGBOOK,
) -> int:
    """Find dead time, gain and time constant of a plant by an open-loop test, with 95 % intervals.

    Settle without heat, full heat, settle again, then a small steady duty until the figures can be told.
    Exit code 0 if they can, 3 if not.

    Parameters
    ----------
    plant
        A ready plant, or a Python file with one of your own, which is run.
    device
        Test through this device in manual mode, and keep the run in the logbook; without it the plant is
        driven directly.
    heat
        The actuator that heats; each ready plant has its own.
    probe
        The probe that is read.
    always
        An actuator that is on throughout, such as a pump; may be given several times.
    with_heat
        An actuator that is on while heat is, such as an igniter; may be given several times.
    seen
        The plant's signal that says whether heat really flows.
    setup
        A parameter of the plant, such as "liquor_volume=40 L", or a file with the [plant_setup] of a fit;
        may be given several times.
    settle
        Without heat at the start.
    full
        Full heat, which shows the dead time.
    settle_again
        Without heat after it.
    duty
        The small steady duty.
    cycle
        Of its pulses: 20 % of 30 s opens the valve for 6 s.
    longest
        The whole test at most.
    shortest
        The small duty at least.
    precision
        It is over when the intervals of gain and time constant are within this to either side.
    every
        Between two readings.
    limit
        No heat at or above this reading, and the test ends.
    relay
        On/off heat around a set point in place of the open-loop test (on the plant directly).
    rise
        Of that set point over the start; without it 5 K.
    hysteresis
        To both sides of it; without it 0.2 K.
    cycles
        How many whole cycles after the first; without it 3.
    truth
        Work out the plant's own figures and print them beside.
    seed
        Of the noise.
    panel
        The device's own name of a panel input, as "manual_duty=hand": run, mode, manual, manual_duty,
        cycle_time; "mode=" for one it does not have; may be given several times.
    mode
        What the device's mode is set to.
    wiring
        A wiring file, where names do not join by themselves.
    json
        Write what was found to this file.
    csv
        Write the record to this file: time, heat, reading.
    """
    from harness.cli import calibration_output as output
    from harness.cli import given_plant
    from harness.cli import step_test_options as options
    from harness.cli.given import needs, wrong

    if device is None:
        needs("step-test", "--device", {"panel": panel, "mode": mode, "wiring": wiring})
    if not relay:
        needs("step-test", "--relay", {"rise": rise, "hysteresis": hysteresis, "cycles": cycles})
    kind = given_plant.plant_kind(plant, "step-test")
    rig = given_plant.rig(
        "step-test", kind, plant,
        heat=heat, probe=probe, always=always, with_heat=with_heat, seen=seen, limit=limit,
    )  # fmt: skip
    timing = {
        "settle": settle, "full": full, "settle_again": settle_again, "cycle": cycle, "longest": longest,
        "shortest": shortest, "every": every, "duty": duty, "precision": precision,
    }  # fmt: skip
    procedure = options.procedure("step-test", rig, timing)
    pairs = given_plant.setup_words("step-test", setup)
    output.writable("step-test", {"json": json, "csv": csv}, needed=[logbook])
    if relay:
        if truth:
            raise wrong("step-test", "--truth goes with the open-loop test. Leave it or --relay out")
        if device is not None:
            raise wrong("step-test", "--relay works on the plant directly. Leave --device out")
        whole = 3 if cycles is None else cycles
        found = {"rise": rise or "5 K", "hysteresis": hysteresis or "0.2 K", "cycles": whole}
        return _relay(kind, rig, procedure, found, pairs, seed, json, csv)
    if device is None:
        return _direct(kind, rig, procedure, pairs, seed, truth, json, csv)
    hand = options.hand("step-test", rig, panel, mode, wiring)
    return _through(kind, plant, rig, procedure, hand, device, pairs, seed, truth, logbook, json, csv)


def _direct(
    kind: type[Plant], rig: Rig, procedure: Procedure, pairs: dict[str, str], seed: int, with_truth: bool,
    json: Path | None, csv: Path | None,
) -> int:  # fmt: skip
    from harness.calibration.step_test.on_plant import step_test as play
    from harness.cli import calibration_output as output
    from harness.cli import given_plant

    setup = given_plant.setup("step-test", kind, pairs)
    with output.Watch(f"step test of {kind.name}", procedure.every_ms) as watch:
        test = play(
            kind, rig, procedure, setup=setup, seed=seed, with_truth=with_truth, progress=watch.progress
        )
    return _told(test, watch.wall_s, json, csv)


def _through(
    kind: type[Plant], plant: str, rig: Rig, procedure: Procedure, hand: Any, device: str,
    pairs: dict[str, str], seed: int, with_truth: bool, logbook: Path, json: Path | None, csv: Path | None,
) -> int:  # fmt: skip
    from harness.calibration.step_test.through_device import device_test
    from harness.cli import calibration_output as output
    from harness.cli import given_plant
    from harness.logbook import Logbook

    lines = given_plant.setup_lines("step-test", kind, pairs)
    with output.Watch(f"step test of {kind.name}", procedure.every_ms) as watch:
        test, _ = device_test(
            kind, rig, procedure, hand, device, Logbook(logbook), plant_name=plant, setup_lines=lines,
            seed=seed, with_truth=with_truth, progress=watch.progress,
        )  # fmt: skip
    return _told(test, watch.wall_s, json, csv)


def _told(test: Any, wall_s: float, json: Path | None, csv: Path | None) -> int:
    from harness.calibration.step_test.as_json import step_test_data
    from harness.cli import calibration_output as output
    from harness.report.calibration import step_test_block

    output.show(lambda ascii_only: step_test_block(test, wall_s, ascii_only=ascii_only))
    output.write_files(json, csv, test.record, lambda: step_test_data(test))
    return 0 if test.complete else output.NOT_TOLD


def _relay(
    kind: type[Plant], rig: Rig, procedure: Procedure, found: dict[str, Any], pairs: dict[str, str],
    seed: int, json: Path | None, csv: Path | None,
) -> int:  # fmt: skip
    from harness.calibration.relay_test.on_plant import relay_test
    from harness.calibration.step_test.as_json import relay_test_data
    from harness.cli import calibration_output as output
    from harness.cli import given_plant
    from harness.cli import step_test_options as options
    from harness.report.calibration import relay_test_block

    test = options.relay("step-test", rig, procedure, found)
    setup = given_plant.setup("step-test", kind, pairs)
    with output.Watch(f"relay test of {kind.name}", procedure.every_ms) as watch:
        result = relay_test(
            kind, rig, test, setup=setup, every_ms=procedure.every_ms, longest_ms=procedure.longest_ms,
            seed=seed, progress=watch.progress,
        )  # fmt: skip
    output.show(lambda ascii_only: relay_test_block(result, watch.wall_s, ascii_only=ascii_only))
    output.write_files(json, csv, result.record, lambda: relay_test_data(result))
    return 0 if result.complete else output.NOT_TOLD
