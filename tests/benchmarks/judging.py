"""Cost of judging as a share of the exchange, over `lib:`, with 1, 10 and 20 assertions.

    python tests/benchmarks/judging.py

Plays the first heat against the C reference controller loaded as a library, the fastest link there is, so
that the share is the largest there is. The time spent in the judge is measured inside the same run; the
exchange without it is the baseline, beside a bare 12 x 12 matrix-vector product as the yardstick of the
machine. Goal: at most 15 % with 20 assertions. Prints a table; asserts nothing: times are the machine's.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
import timeit
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from harness.assertions import AssertionSpec
from harness.bench.judge import ScenarioJudge
from harness.bench.run import run_scenario
from harness.logbook import Logbook
from harness.scenario import Scenario, load_scenario
from harness.shipped import shipped

ROUNDS = 5
MINUTES = 40
GOAL = 15.0

# What a careful person would ask of a first heat: all patterns, scopes and several figures.
ASSERTIONS = (
    {"always": "coil_outlet < 76 degC"},
    {"never": "gas_valve and not pump", "while_": "after 30 s"},
    {"after": "falls(flame and gas_valve)", "within_ms": 4000, "expect": "not gas_valve"},
    {"each": "gas_valve and not flame", "at_most": "15 s"},
    {"always": "unburned_gas < 25 %"},
    {"never": "out.alarm"},
    {"after": "rises(valve_command)", "within_ms": 0, "expect": "held(not gas_valve, 5 s)"},
    {"sometime": "flame", "while_": "between 0 s and 2 min"},
    {"count": "rises(igniter)", "at_most": "400"},
    {"figure": "overshoot(coil_outlet, 66 degC)", "at_most": "3 K"},
    {"figure": "iae(coil_outlet, 66 degC)", "at_most": "90 K * 1 h"},
    {"always": "rate(liquor) < 4 K/min"},
    {"always": "in.limit < 92 degC"},
    {"never": "held(igniter, 12 s)"},
    {"before": "gas_valve", "expect": "held(not gas_valve, 5 s)"},
    {"again": "gas_valve", "within_ms": 600_000},
    {"figure": "shortest(valve_command)", "at_least": "1 s"},
    {"always": "abs(coil_outlet - pump_inlet) < 40 K"},
    {"figure": "worst_error(liquor, 70 degC)", "at_most": "90 K"},
    {"always": "known(in.coil_outlet) and in.coil_outlet < 90 degC", "while_": "flame", "grace_ms": 2000},
)


class Watch:
    """Adds up the time that the judge takes."""

    def __init__(self) -> None:
        self.spent_s = 0.0
        for name in ("chunk", "verdicts"):
            setattr(ScenarioJudge, name, self._timed(getattr(ScenarioJudge, name)))

    def _timed(self, method: Any) -> Any:
        def timed(*given: Any) -> Any:
            begun = time.perf_counter()
            try:
                return method(*given)
            finally:
                self.spent_s += time.perf_counter() - begun

        return timed


def matvec_us() -> float:
    """A bare 12 x 12 product."""
    a, x = np.random.default_rng(1).random((12, 12)), np.ones(12)
    return min(timeit.repeat(lambda: a @ x, number=50_000, repeat=5)) / 50_000 * 1e6


def cost(scenario: Scenario, device: str, watch: Watch, folder: Path) -> tuple[float, float]:
    """Median cost of an exchange and, in it, of judging. [us]"""
    whole, judging = [], []
    for _ in range(ROUNDS):
        watch.spent_s = 0.0
        result = run_scenario(scenario, device, Logbook(folder / "book.sqlite"))
        whole.append(result.wall_s / result.exchanges * 1e6)
        judging.append(watch.spent_s / result.exchanges * 1e6)
    return statistics.median(whole), statistics.median(judging)


def main() -> int:
    scenario = load_scenario(shipped("scenarios") / "heating" / "first-heat.toml")
    specs = [AssertionSpec(f"assertion {at}", **keys) for at, keys in enumerate(ASSERTIONS)]  # type: ignore[arg-type]
    watch = Watch()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        make = ["make", "-s", "-C", str(shipped("firmware_stubs") / "c"), "lib", f"BUILD={folder}"]
        subprocess.run(make, check=True)
        print(f"bare 12x12 matrix-vector product: {matvec_us():.2f} us")
        print(f"{'assertions':>10}{'exchange us':>13}{'judging us':>12}{'the rest us':>13}{'share %':>9}")
        for count in (1, 10, 20):
            played = replace(scenario, length_ms=MINUTES * 60_000, assertions=tuple(specs[:count]))
            whole, judging = cost(played, f"lib:{folder}/reference.so", watch, folder)
            share = 100 * judging / whole
            print(f"{count:>10}{whole:>13.1f}{judging:>12.2f}{whole - judging:>13.1f}{share:>9.1f}")
    print(f"goal with 20 assertions: at most {GOAL:.0f} %; reached: {'yes' if share <= GOAL else 'no'}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
