"""What a whole calibration costs: herms-gas through the C firmware over `lib:`, and what it consists of.

    python -m tests.benchmarks.step_procedure

Best of three, interleaved in one run: the procedure through the firmware, the same procedure on the plant
directly, and the playing alone (a scenario as long, nothing watched). Goal: 10 s of wall time for the first.
Prints ratios; asserts nothing: times are the machine's.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from harness.bench.run import run_scenario
from harness.calibration.rig import RIGS
from harness.calibration.step_test.on_plant import step_test
from harness.calibration.step_test.procedure import Procedure
from harness.calibration.step_test.through_device import Hand, device_test, scenario_of
from harness.logbook import Logbook
from plants import ready_plants
from tests.firmware import build_reference

ROUNDS = 3
GOAL_S = 10.0


def main() -> None:
    """Measure and print."""
    kind, rig, procedure = ready_plants()["herms-gas"], RIGS["herms-gas"], Procedure()
    with tempfile.TemporaryDirectory() as folder:
        link = build_reference(Path(folder)).links["lib"]
        book = Logbook(Path(folder) / "logbook.db")
        test, run = device_test(kind, rig, procedure, Hand(), link, book, with_truth=True)
        scenario = replace(scenario_of("herms-gas", rig, procedure, Hand(), (), 1), length_ms=run.length_ms)
        ways: dict[str, Callable[[], object]] = {
            "through the firmware": lambda: device_test(
                kind, rig, procedure, Hand(), link, book, with_truth=True
            ),
            "on the plant": lambda: step_test(kind, rig, procedure, setup={}, with_truth=True),
            "playing alone": lambda: run_scenario(scenario, link, book),
        }
        best = dict.fromkeys(ways, float("inf"))
        for _ in range(ROUNDS):
            for name, play in ways.items():
                begun = time.perf_counter()
                play()
                best[name] = min(best[name], time.perf_counter() - begun)
    print(f"{run.length_ms / 60_000:.0f} min of bench time, {run.exchanges} exchanges; told: {test.complete}")
    for name, seconds in best.items():
        print(f"{name:22} {seconds:6.2f} s  {seconds / best['playing alone']:5.2f} of playing alone")
    print(f"goal for the first: {GOAL_S:g} s, {best['through the firmware'] / GOAL_S:.2f} of it")


if __name__ == "__main__":
    main()
