"""Cost of a whole exchange over each link, beside a bare echo of the same bytes over the same link.

    python tests/benchmarks/exchange.py

A whole exchange advances `herms-gas` by 250 ms, reads the probes, encodes, sends, receives, decodes,
records and judges; its cost is the slope between a short and a long run, so that the start is left out, and
is told by wall time and by the processor time of the bench's thread. Baselines of the same run: a bare
12 x 12 matrix-vector product in numpy; the echo through our link, placed on a core as in a run; and the echo
over a plain pipe or pseudo-terminal with both sides left where the system puts them. Prints a table with
ratios; asserts nothing, since times are the machine's.
"""

from __future__ import annotations

import os
import pty
import statistics
import subprocess
import sys
import tempfile
import time
import timeit
import tty
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from harness.bench.run import run_scenario
from harness.links import open_link
from harness.logbook import Logbook
from harness.scenario import load_scenario
from harness.shipped import shipped

HERE = Path(__file__).resolve().parent
LINE = b"at 1234500 1=65432 2=66123 3=65987 4=70123 5=1 6=1*ABCD\n"
ROUNDS = 5


def matvec_us() -> float:
    """A bare 12 x 12 product, the yardstick of the machine."""
    a, x = np.random.default_rng(1).random((12, 12)), np.ones(12)
    return min(timeit.repeat(lambda: a @ x, number=50_000, repeat=5)) / 50_000 * 1e6


def trip_us(trip: Callable[[], None], count: int = 5000) -> float:
    """Median cost of a round trip, in blocks."""
    timeit.timeit(trip, number=500)
    return statistics.median(timeit.repeat(trip, number=count // 10, repeat=10)) / (count // 10) * 1e6


def echo_us(text: str) -> float:
    """A round trip of one line over an echoing device, through our link."""
    link = open_link(text)

    def trip() -> None:
        link.write(LINE)
        got = b""
        while len(got) < len(LINE):
            got += link.read(2.0)

    try:
        return trip_us(trip)
    finally:
        link.close()


def free_echo_us(kind: str, program: Path) -> float:
    """The same over a plain pipe or pseudo-terminal; NaN for a kind that has none."""
    if kind == "lib":
        return float("nan")
    if kind == "pty":
        ours, theirs = pty.openpty()
        tty.setraw(theirs)
        into, out = ours, ours
        child = subprocess.Popen([program], stdin=theirs, stdout=theirs)
    else:
        child = subprocess.Popen([program], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        assert child.stdin
        assert child.stdout
        into, out = child.stdin.fileno(), child.stdout.fileno()

    def trip() -> None:
        os.write(into, LINE)
        got = 0
        while got < len(LINE):
            got += len(os.read(out, 4096))

    try:
        return trip_us(trip)
    finally:
        child.kill()
        child.wait()


def exchange_us(text: str, folder: Path) -> tuple[float, float]:
    """Wall and thread time of an exchange of the first heat, the best of a few rounds."""
    scenario = load_scenario(shipped("scenarios") / "heating" / "first-heat.toml")

    def run(minutes: int) -> tuple[int, float, float]:
        begun = time.thread_time()
        book = Logbook(folder / "book.sqlite")
        result = run_scenario(replace(scenario, length_ms=minutes * 60_000), text, book)
        return result.exchanges, result.wall_s * 1e6, (time.thread_time() - begun) * 1e6

    short, long = ([run(minutes) for _ in range(ROUNDS)] for minutes in (5, 65))
    more = long[0][0] - short[0][0]
    wall, thread = (
        (min(r[i] for r in long) - min(r[i] for r in short)) / more for i in (1, 2)
    )
    return wall, thread


def build(folder: Path) -> None:
    """Build the echo and the C reference controller."""
    source = str(HERE / "echo.c")
    subprocess.run(["gcc", "-O2", "-o", folder / "echo", source], check=True)
    subprocess.run(["gcc", "-O2", "-shared", "-fPIC", "-o", folder / "echo.so", source], check=True)
    make = ["make", "-s", "-C", str(shipped("firmware_stubs") / "c"), "host", "lib", f"BUILD={folder}"]
    subprocess.run(make, check=True)


def main() -> int:
    """The program."""
    yard = matvec_us()
    print(f"bare 12x12 matrix-vector product: {yard:.2f} us")
    heads = ("exchange us", "thread us", "in products", "echo us", "ratio", "free echo us", "ratio")
    print(f"{'link':<10}" + "".join(f"{head:>14}" for head in heads))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        build(folder)
        for kind, real, echo in (
            ("lib", f"lib:{folder}/reference.so", f"lib:{folder}/echo.so"),
            ("run", f"run:{folder}/reference", f"run:{folder}/echo"),
            ("pty", f"pty:{folder}/reference", f"pty:{folder}/echo"),
            ("builtin", "builtin", f"run:{folder}/echo"),
        ):
            free, bare = free_echo_us(kind, folder / "echo"), echo_us(echo)
            wall, thread = exchange_us(real, folder)
            figures = (wall, thread, wall / yard, bare, wall / bare, free, wall / free)
            print(f"{kind:<10}" + "".join(f"{figure:>14.2f}" for figure in figures))
    return 0


if __name__ == "__main__":
    sys.exit(main())
