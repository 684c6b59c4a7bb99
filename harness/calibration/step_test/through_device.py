"""The step test through a device in manual mode: its output stage, sequence and safety stay in force.

The test is a scenario like any other: panel settings at their times, an assertion that the full heat came, a
run in the logbook. Only its end is not written down beforehand: it is over when gain and time constant can be
told.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from harness.assertions.verdict import Status
from harness.calibration.record import Array, HeatRecord
from harness.calibration.rig import Rig
from harness.calibration.step_test.drive import LEAST_ROWS, Driven
from harness.calibration.step_test.heat_meter import HeatMeter
from harness.calibration.step_test.on_plant import Setup, StepTest, judged, truth_of
from harness.calibration.step_test.open_loop import OpenLoop
from harness.calibration.step_test.procedure import Procedure
from harness.errors import UnlitError
from harness.scenario import Scenario, parse_scenario

if TYPE_CHECKING:
    from harness.bench.recorder import Column
    from harness.bench.result import Event, RunResult
    from harness.logbook import Logbook
    from plants import Plant

Names = Mapping[str, str]
ROLES = ("run", "mode", "manual", "manual_duty", "cycle_time")
"""Panel inputs of the reference controller, which a device may name otherwise."""
FILE = "step-test"
_EXCHANGE_MS = 250
_LIGHTS_WITHIN_S = 60


@dataclass(frozen=True)
class Hand:
    """How a device is told by hand what to do.

    Attributes
    ----------
    names : role to the device's input: `run`, `mode`, `manual`, `manual_duty`, `cycle_time`; a role without
        a name is not set.
    mode : what `mode` is set to.
    wiring : device input to probe and output to actuator, as a scenario's `[wiring]`; None where all names
        join by themselves.
    """

    names: Names = field(default_factory=lambda: {role: role for role in ROLES})
    mode: int = 1
    wiring: Mapping[str, Mapping[str, str]] | None = None


def scenario_of(
    plant: str, rig: Rig, procedure: Procedure, hand: Hand, setup_lines: Sequence[str], seed: int
) -> Scenario:
    """The step test as a scenario.

    Parameters
    ----------
    setup_lines : of `[plant_setup]`, as a scenario writes them.

    Raises
    ------
    FileMistakesError
        If a line or a name does not fit.
    """
    names = hand.names
    duty_at = [
        (procedure.full_from_ms, procedure.full_until_ms, 1000),
        (procedure.small_from_ms, procedure.longest_ms, round(1000 * procedure.duty)),
    ]
    panel: list[tuple[str, str]] = [
        ("mode", str(hand.mode)), ("manual", "true"), ("manual_duty", '"0 permille"'),
        ("cycle_time", f'"{procedure.cycle_ms} ms"'), ("run", "true"),
    ]  # fmt: skip
    lines = [
        f'title = "Step test of {plant}"',
        f"plant = {json.dumps(plant)}",
        f'length = "{procedure.longest_ms} ms"',
        f'exchange_every = "{_EXCHANGE_MS} ms"',
        f"seed = {seed}",
        "[plant_setup]",
        *setup_lines,
        "[panel]",
        *(f"{names[role]} = {value}" for role, value in panel if role in names),
    ]
    for part, pairs in (hand.wiring or {}).items():
        lines += [f"[wiring.{part}]", *(f"{one} = {json.dumps(other)}" for one, other in pairs.items())]
    for start_ms, end_ms, permille in duty_at:
        if start_ms < end_ms:
            lines += [
                "[[disturbance]]", 'kind = "set-panel"', f'at = "{start_ms} ms"', f'until = "{end_ms} ms"',
                f'panel = {{ {names["manual_duty"]} = "{permille} permille" }}',
            ]  # fmt: skip
    if rig.seen and procedure.full_ms:
        lines += [
            "[[assertion]]", 'title = "full heat comes when it is asked for"',
            'basis = "common practice, no source"', f'after = "at {procedure.full_from_ms} ms"',
            f'within = "{_LIGHTS_WITHIN_S} s"', f'expect = "{rig.seen}"',
        ]  # fmt: skip
    return parse_scenario("\n".join(lines) + "\n", FILE)


class _Follower:
    """Makes the record as the run goes, and says when it is over."""

    def __init__(self, plan: OpenLoop, rig: Rig, procedure: Procedure, scenario: Scenario) -> None:
        self._plan, self._rig, self._procedure = plan, rig, procedure
        wiring = scenario.wiring
        self._fed = {probe: name for name, probe in wiring.inputs.items()} if wiring else {}
        self._drives = {actuator: name for name, actuator in wiring.outputs.items()} if wiring else {}
        self._actuators: Sequence[str] = ()
        self._meter = HeatMeter()
        self._next_ms = 0
        self._columns: list[int] = []
        self._row: list[float] = []
        self._times: list[int] = []
        self._readings: list[float] = []
        self._commands: list[tuple[int, tuple[float, ...]]] = []
        self.ended = ""

    def actuators(self, names: Sequence[str]) -> None:
        """The plant's actuators, in its order."""
        self._actuators = names

    def begin(self, columns: Sequence[Column]) -> None:
        """Find the columns: heat as it flows, the reading, then what drives each actuator."""
        names = [column.name for column in columns]
        heat = self._rig.seen or f"out.{self._drives.get(self._rig.heat, self._rig.heat)}"
        wanted = [heat, f"in.{self._fed.get(self._rig.probe, self._rig.probe)}"]
        wanted += [f"out.{self._drives.get(name, name)}" for name in self._actuators]
        self._columns = [names.index(name) if name in names else -1 for name in wanted]

    def chunk(self, times_ms: NDArray[np.int64], values: NDArray[np.float64]) -> None:
        """Take rows; the last one at a time holds from then on."""
        padded = np.column_stack([values, np.zeros(len(values))])[:, self._columns]
        for t_ms, row in zip(times_ms.tolist(), padded.tolist(), strict=True):
            while self._row and self._next_ms < t_ms:
                self._take()
            self._meter.change(t_ms, row[0])
            if not self._row or row[2:] != self._row[2:]:
                self._commands.append((t_ms, tuple(row[2:])))
            self._row = row

    def _take(self) -> None:
        at = self._next_ms
        self._meter.row(at)
        self._times.append(at)
        self._readings.append(self._row[1])
        self._next_ms += self._procedure.every_ms
        self._plan.turn(at, self._row[1])
        if self.rows >= LEAST_ROWS and self._plan.wants_look(at):
            self.ended = self.ended or self._plan.over(self.record()) or ""

    def over(self, t_ms: int) -> bool:
        """Whether it can be told."""
        return bool(self.ended)

    def event(self, event: Event) -> None:
        """Nothing that the record needs."""

    def marks(self) -> int:
        """Nobody looks on."""
        return 0

    @property
    def rows(self) -> int:
        """How many readings there are."""
        return len(self._times)

    def record(self) -> HeatRecord:
        """What has been seen so far; three readings at least."""
        times: Array = np.array(self._times) / 1000.0
        return HeatRecord(times, self._meter.shares(), np.array(self._readings), self._rig.probe)

    def driven(self, ended: str) -> Driven:
        """The test as it was carried through."""
        return Driven(self.record(), tuple(self._commands), self.ended or ended)


def device_test(
    plant: type[Plant],
    rig: Rig,
    procedure: Procedure,
    hand: Hand,
    device: str,
    logbook: Logbook,
    *,
    plant_name: str | None = None,
    setup_lines: Sequence[str] = (),
    seed: int = 1,
    with_truth: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[StepTest, RunResult]:
    """The step test through a device; what it tells, and the run as the logbook has it.

    Parameters
    ----------
    plant_name : as a scenario names it, if not by the plant's own name (a Python file).

    Raises
    ------
    FileMistakesError, LinkError, DeviceError, LogbookError
        As `run_scenario`.
    UnlitError
        If the run ended before there were three readings.
    """
    from harness.bench.run import run_scenario

    scenario = scenario_of(plant_name or plant.name, rig, procedure, hand, setup_lines, seed)
    plan = OpenLoop(procedure)
    follower = _Follower(plan, rig, procedure, scenario)
    follower.actuators([actuator.name for actuator in plant.actuators])
    result = run_scenario(scenario, device, logbook, progress=progress, watcher=follower)
    if follower.rows < LEAST_ROWS:
        raise UnlitError(f"run {result.run_id}: {'; '.join(result.reasons) or 'it ended at once'}")
    longest = f"the longest time, {procedure.longest_ms / 60_000:g} min, is over"
    driven = follower.driven(result.reasons[0] if result.cut_short and result.reasons else longest)
    setup: Setup = scenario.plant_setup
    notes = [f"the run is {result.status}: {reason}" for reason in result.reasons]
    notes += [
        f"{verdict.title}: {verdict.outcome}" for verdict in result.verdicts if verdict.outcome != "met"
    ]
    truth = None
    if with_truth:
        try:
            truth = truth_of(plant(setup, seed=seed), rig, procedure, driven)
        except ValueError as error:
            notes.append(str(error))
    complete = plan.told and result.status is Status.PASS
    name = plant.name
    return judged(name, device, rig, procedure, driven, complete, truth, notes, result.run_id), result
