"""A step test from start to end: driven, told, compared, judged by the truth."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from harness.calibration.identify.doubts import drift, misfit
from harness.calibration.identify.methods import MethodResult, compare
from harness.calibration.identify.told import Told, told, words
from harness.calibration.process import FirstOrder
from harness.calibration.record import HeatRecord
from harness.calibration.rig import Rig
from harness.calibration.step_test.drive import Driven, drive, replayed
from harness.calibration.step_test.open_loop import OpenLoop
from harness.calibration.step_test.procedure import Procedure
from harness.calibration.truth.of_plant import Truth, truth_at
from plants import Plant

Setup = Mapping[str, float | str]


@dataclass(frozen=True)
class StepTest:
    """What came of a step test.

    Attributes
    ----------
    plant, device : by name; the device is "" where the plant was driven directly.
    complete : whether gain and time constant are told as precisely as asked.
    ended : why the test was over.
    told : what the record tells; None where it tells nothing, `notes` say why then.
    methods : all methods, side by side.
    pulse_heat_s : heat that a pulse of the small duty gives, in seconds of full heat; NaN without one.
    truth : None where it was not asked for or cannot be worked out.
    run_id : of the logbook; 0 where the test went through no device.
    """

    plant: str
    device: str
    rig: Rig
    procedure: Procedure
    record: HeatRecord
    complete: bool
    ended: str
    told: Told | None
    methods: Sequence[MethodResult]
    pulse_heat_s: float
    truth: Truth | None
    notes: Sequence[str]
    run_id: int = 0


def step_test(
    kind: type[Plant],
    rig: Rig,
    procedure: Procedure,
    *,
    setup: Setup,
    seed: int = 1,
    with_truth: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> StepTest:
    """Play the procedure on a plant directly.

    Raises
    ------
    ValueError
        If the set-up does not fit the plant.
    """
    plan = OpenLoop(procedure)
    driven = drive(
        kind(setup, seed=seed), rig, plan,
        every_ms=procedure.every_ms, longest_ms=procedure.longest_ms, progress=progress,
    )  # fmt: skip
    truth, notes = None, []
    if with_truth:
        try:
            truth = truth_of(kind(setup, seed=seed), rig, procedure, driven)
        except ValueError as error:
            notes.append(str(error))
    return judged(kind.name, "", rig, procedure, driven, plan.told, truth, notes)


def truth_of(plant: Plant, rig: Rig, procedure: Procedure, driven: Driven) -> Truth:
    """The truth half-way through the small duty; `plant` is fresh, with set-up and seed of the test.

    Raises
    ------
    ValueError
        If it cannot be worked out.
    """
    end_ms = round(driven.record.time_s[-1] * 1000.0)
    middle_ms = (min(procedure.small_from_ms, end_ms) + end_ms) // 2
    return truth_at(replayed(plant, driven.commands, middle_ms), rig, driven.record)


def judged(
    plant: str, device: str, rig: Rig, procedure: Procedure, driven: Driven, complete: bool,
    truth: Truth | None, notes: Sequence[str], run_id: int = 0,
) -> StepTest:  # fmt: skip
    """What a test that was carried through tells."""
    said = list(notes)
    found: Told | None = None
    methods: list[MethodResult] = []
    try:
        found = told(driven.record)
        methods = compare(driven.record, procedure, found)
        said += words(found, procedure.precision)
        said += _too_short(found, driven.record, procedure)
        said += drift(driven.record)
        said += misfit(found, driven.record)
    except ValueError as error:
        said.append(str(error))
    return StepTest(
        plant, device, rig, procedure, driven.record, complete and found is not None, driven.ended,
        found, methods, _pulse_heat_s(driven.record, procedure), truth, list(dict.fromkeys(said)), run_id,
    )  # fmt: skip


def _pulse_heat_s(record: HeatRecord, procedure: Procedure) -> float:
    """Full heat that one pulse gives, over the whole cycles of the small duty. [s]"""
    begun_s, cycle_s = procedure.small_from_ms / 1000.0, procedure.cycle_ms / 1000.0
    cycles = int((record.time_s[-1] - begun_s) // cycle_s)
    if cycles < 1:
        return float("nan")
    row, end = np.searchsorted(record.time_s, [begun_s, begun_s + cycles * cycle_s])
    spans = np.diff(record.time_s)[row:end]
    return float((record.heat[row:end] * spans).sum() / cycles)


def _too_short(found: Told, record: HeatRecord, procedure: Procedure) -> list[str]:
    """Figures that are told, by a small duty that was cut off before it had lasted as long as was asked."""
    lasted_s = float(record.time_s[-1]) - procedure.small_from_ms / 1000.0
    if not found.within(procedure.precision) or lasted_s >= procedure.shortest_small_ms / 1000.0:
        return []
    least = f"{procedure.shortest_small_ms / 60_000.0:g} min that are the least"
    return [f"the small duty lasted {lasted_s / 60.0:.4g} of the {least}. Allow more time."]


def first_order_of(test: StepTest) -> FirstOrder | None:
    """The first-order process that was found, if any."""
    if test.told is None or test.told.first_order is None:
        return None
    process = test.told.first_order.process
    return process if isinstance(process, FirstOrder) else None
