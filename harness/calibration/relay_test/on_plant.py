"""A relay feedback test from start to end, on a plant directly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from harness.calibration.identify.told import Told, told, words
from harness.calibration.process import FirstOrder
from harness.calibration.record import HeatRecord
from harness.calibration.relay_test.cycle import RelayCycle, process_of
from harness.calibration.relay_test.plan import RelayPlan, RelayTest
from harness.calibration.rig import Rig
from harness.calibration.step_test.drive import drive
from harness.calibration.step_test.on_plant import Setup
from harness.calibration.step_test.procedure import Procedure
from plants import Plant

_LOPSIDED = 1.0 / 3.0


@dataclass(frozen=True)
class RelayResult:
    """What came of a relay feedback test.

    Attributes
    ----------
    cycle : the median cycle; None without two whole ones.
    exact : the first-order process that cycles so; None if none does.
    told : least squares over the whole record.
    """

    plant: str
    rig: Rig
    record: HeatRecord
    complete: bool
    ended: str
    set_point: float
    cycle: RelayCycle | None
    exact: FirstOrder | None
    told: Told | None
    notes: tuple[str, ...]


def relay_test(
    kind: type[Plant],
    rig: Rig,
    test: RelayTest,
    *,
    setup: Setup,
    every_ms: int,
    longest_ms: int,
    seed: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> RelayResult:
    """On/off heat around a set point, and what follows from it.

    Raises
    ------
    ValueError
        If the set-up does not fit the plant.
    """
    plan = RelayPlan(test)
    driven = drive(
        kind(setup, seed=seed), rig, plan, every_ms=every_ms, longest_ms=longest_ms, progress=progress
    )
    notes: list[str] = []
    found: Told | None = None
    cycle: RelayCycle | None = None
    exact: FirstOrder | None = None
    try:
        found = told(driven.record)
        notes += words(found, Procedure().precision)
        cycle = plan.cycle(driven.record, found.fit.start)
        exact = process_of(cycle)
    except ValueError as error:
        notes.append(str(error))
    if cycle is not None and min(cycle.on_s, cycle.off_s) < _LOPSIDED * max(cycle.on_s, cycle.off_s):
        notes.append(
            f"the cycle is lopsided, heat for {100.0 * cycle.on_s / cycle.period_s:.2g} % of it: ultimate "
            "gain and period are those of an even one. Trust the exact formulas or least squares."
        )
    return RelayResult(
        kind.name, rig, driven.record, cycle is not None, driven.ended, plan.set_point, cycle, exact, found,
        tuple(notes),
    )  # fmt: skip
