"""How late exchanges in wall pace are, beside a bare loop that sleeps to absolute deadlines.

    python tests/benchmarks/wall_pace.py [SECONDS]

Both keep the same deadlines, in turns of ten seconds and with the same priority (SCHED_FIFO where it is
allowed), so that a busy machine spoils both alike. The bench plays `herms-gas` against the C reference
controller on its own clock, 10 ms an exchange. Prints percentiles and ratios; asserts nothing. The goal is a
p99 within 1.5 times the bare loop's.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from harness.bench.clock import WALL
from harness.bench.run import run_scenario
from harness.logbook import Logbook
from harness.scenario import load_scenario
from harness.shipped import shipped

EVERY_MS = 10
ROUND_MS = 10_000
PERCENTILES = (50, 99, 99.9)


def bare_ms() -> list[float]:
    """Lateness of a loop that does nothing but sleep (clock_nanosleep in CPython 3.11) to its deadlines."""
    with WALL.ahead_of_others():
        late, origin = [], time.monotonic_ns()
        for turn in range(ROUND_MS // EVERY_MS):
            due = origin + turn * EVERY_MS * 1_000_000
            while (left := due - time.monotonic_ns()) > 0:
                time.sleep(left / 1e9)
            late.append((time.monotonic_ns() - due) / 1e6)
    return late


def bench_ms(device: str, book: Logbook) -> tuple[list[float], list[float]]:
    """`bench_late` and `answer_time` of each exchange of one run."""
    scenario = load_scenario(shipped("scenarios") / "heating" / "first-heat.toml")
    scenario = replace(scenario, length_ms=ROUND_MS, exchange_every_ms=EVERY_MS, pace="wall")
    result = run_scenario(scenario, device, book)
    _, signals = book.read(result.run_id).signals()
    return held(signals["bench_late"]), held(signals["answer_time"])


def held(values: NDArray[np.float64]) -> list[float]:
    """Each new value of a signal that is measured to the nanosecond: no two in turn are alike."""
    return values[np.append(True, np.diff(values) != 0)].tolist()


def row(name: str, late_ms: list[float]) -> NDArray[np.float64]:
    """Print a row of the table; the percentiles. [us]"""
    found: NDArray[np.float64] = np.percentile(late_ms, PERCENTILES) * 1000
    print(f"{name:<22}{len(late_ms):>8}" + "".join(f"{one:>10.0f}" for one in found))
    return found


def main() -> int:
    rounds = max(1, int(sys.argv[1]) * 500 // ROUND_MS if len(sys.argv) > 1 else 2)
    with tempfile.TemporaryDirectory() as name:
        make = ["make", "-s", "-C", str(shipped("firmware_stubs") / "c"), "host", f"BUILD={name}"]
        subprocess.run(make, check=True)
        book = Logbook(Path(name) / "logbook.sqlite")
        bare: list[float] = []
        late: list[float] = []
        answers: list[float] = []
        for _ in range(rounds):
            bare += bare_ms()
            one = bench_ms(f"run:{name}/reference --wall", book)
            late += one[0]
            answers += one[1]
    print(f"{'us':<22}{'n':>8}" + "".join(f"{f'p{p}':>10}" for p in PERCENTILES))
    base, ours = row("bare sleep", bare), row("bench_late", late)
    row("answer_time", answers)
    print(f"{'bench_late / bare':<30}" + "".join(f"{ratio:>10.2f}" for ratio in ours / base))
    return 0


if __name__ == "__main__":
    sys.exit(main())
