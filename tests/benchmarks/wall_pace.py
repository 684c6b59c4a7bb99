"""How late exchanges in wall pace are, beside a bare loop that sleeps to absolute deadlines in the same run.

    python -m tests.benchmarks.wall_pace [SECONDS]

The bench plays `herms-gas` against the C reference controller on its own clock, 10 ms an exchange. Meanwhile
a second process does nothing but sleep to deadlines 10 ms apart, with the same priority (SCHED_FIFO where it
is allowed), so that what a busy machine does to one it does to the other. Each run of ten seconds puts the
two at another phase. Prints percentiles over all runs, their ratios, and each run's own; asserts nothing. The
goal is a p99 within 1.5 times the bare loop's.

Two busy cores, four runs of ten seconds: p99 126 us bare and 121 us for the bench, 0.96 times (single runs
0.86 to 1.28); twelve runs before a line that arrives just before a deadline was taken in behind the exchange:
0.82 to 1.50. Without SCHED_FIFO, four runs: 7.6 ms bare, 0.87 times.
"""

from __future__ import annotations

import multiprocessing
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from harness.bench.clock import WALL
from harness.bench.run import run_scenario
from harness.logbook import Logbook
from harness.scenario import load_scenario
from harness.shipped import shipped

EVERY_NS = 10_000_000
RUN_MS = 10_000
PERCENTILES = (50, 99, 99.9)


def sleep_bare(pipe: Connection) -> None:
    """Sleep (clock_nanosleep in CPython 3.11) to deadline after deadline; send how late, when told. [ms]"""
    late: list[float] = []
    with WALL.ahead_of_others():
        due = time.monotonic_ns()
        while not pipe.poll(0):
            due += EVERY_NS
            while (left := due - time.monotonic_ns()) > 0:
                time.sleep(left / 1e9)
            late.append((time.monotonic_ns() - due) / 1e6)
    pipe.send(late)


def both_ms(device: str, book: Logbook) -> tuple[list[float], list[float], list[float]]:
    """One run: lateness of the bare loop, `bench_late` and `answer_time` of the bench."""
    scenario = load_scenario(shipped("scenarios") / "heating" / "first-heat.toml")
    scenario = replace(scenario, length_ms=RUN_MS, exchange_every_ms=EVERY_NS // 1_000_000, pace="wall")
    ours, theirs = multiprocessing.Pipe()
    beside = multiprocessing.Process(target=sleep_bare, args=(theirs,))
    beside.start()
    result = run_scenario(scenario, device, book)
    ours.send("enough")
    bare = ours.recv()
    beside.join()
    _, signals = book.read(result.run_id).signals()
    return bare, held(signals["bench_late"]), held(signals["answer_time"])


def held(values: NDArray[np.float64]) -> list[float]:
    """Each new value of a signal that is measured to the nanosecond: no two in turn are alike."""
    return values[np.append(True, np.diff(values) != 0)].tolist()


def row(name: str, late_ms: list[float]) -> NDArray[np.float64]:
    """Print a row of the table; the percentiles. [us]"""
    found: NDArray[np.float64] = np.percentile(late_ms, PERCENTILES) * 1000
    print(f"{name:<24}{len(late_ms):>8}" + "".join(f"{one:>10.0f}" for one in found))
    return found


def main() -> int:
    runs = max(1, int(sys.argv[1]) * 1000 // RUN_MS if len(sys.argv) > 1 else 3)
    bare: list[float] = []
    late: list[float] = []
    answers: list[float] = []
    each = []
    with tempfile.TemporaryDirectory() as name:
        make = ["make", "-s", "-C", str(shipped("firmware_stubs") / "c"), "host", f"BUILD={name}"]
        subprocess.run(make, check=True)
        book = Logbook(Path(name) / "logbook.sqlite")
        for _ in range(runs):
            found = both_ms(f"run:{name}/reference --wall", book)
            for all_runs, one in zip((bare, late, answers), found, strict=True):
                all_runs += one
            each.append(np.percentile(found[1], 99) / np.percentile(found[0], 99))
    print(f"{'us':<24}{'n':>8}" + "".join(f"{f'p{p}':>10}" for p in PERCENTILES))
    base, ours = row("bare sleep", bare), row("bench_late", late)
    row("answer_time", answers)
    print(f"{'bench_late / bare sleep':<32}" + "".join(f"{ratio:>10.2f}" for ratio in ours / base))
    print("p99 of each run / bare sleep's: " + " ".join(f"{one:.2f}" for one in each))
    return 0


if __name__ == "__main__":
    sys.exit(main())
