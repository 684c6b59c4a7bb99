"""Cost of a whole exchange over each link, beside a bare echo of the same bytes over the same link.

    python tests/benchmarks/exchange.py

A whole exchange advances `herms-gas` by 250 ms, reads the probes, encodes, sends, receives, decodes, records
and judges. Baselines of the same run: a bare 12 x 12 matrix-vector product in numpy, and the echo. Prints a
table with ratios; asserts nothing, since times are the machine's.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import timeit
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


def echo_us(text: str, count: int = 5000) -> float:
    """Median round trip of one line over an echoing device, in blocks."""
    link = open_link(text)
    try:

        def trip() -> None:
            link.write(LINE)
            got = b""
            while len(got) < len(LINE):
                got += link.read(2.0)

        timeit.timeit(trip, number=500)
        return statistics.median(timeit.repeat(trip, number=count // 10, repeat=10)) / (count // 10) * 1e6
    finally:
        link.close()


def exchange_us(text: str, folder: Path) -> float:
    """Median cost of an exchange over whole runs of the first heat."""
    scenario = load_scenario(shipped("scenarios") / "heating" / "first-heat.toml")
    scenario = replace(scenario, length_ms=40 * 60_000)
    costs = []
    for i in range(ROUNDS):
        book = Logbook(folder / f"book-{i}.sqlite")
        result = run_scenario(scenario, text, book)
        costs.append(result.wall_s / result.exchanges * 1e6)
    return statistics.median(costs)


def build(folder: Path) -> None:
    """Build the echo and the C reference controller."""
    source = str(HERE / "echo.c")
    subprocess.run(["gcc", "-O2", "-o", folder / "echo", source], check=True)
    subprocess.run(["gcc", "-O2", "-shared", "-fPIC", "-o", folder / "echo.so", source], check=True)
    make = ["make", "-s", "-C", str(shipped("firmware_stubs") / "c"), "host", "lib", f"BUILD={folder}"]
    subprocess.run(make, check=True)


def main() -> int:
    yard = matvec_us()
    print(f"bare 12x12 matrix-vector product: {yard:.2f} us")
    print(f"{'link':<10}{'exchange us':>12}{'echo us':>10}{'exchange/echo':>15}{'in products':>13}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        build(folder)
        for kind, real, echo in (
            ("lib", f"lib:{folder}/reference.so", f"lib:{folder}/echo.so"),
            ("run", f"run:{folder}/reference", f"run:{folder}/echo"),
            ("pty", f"pty:{folder}/reference", f"pty:{folder}/echo"),
            ("builtin", "builtin", f"run:{folder}/echo"),
        ):
            bare, whole = echo_us(echo), exchange_us(real, folder)
            print(f"{kind:<10}{whole:>12.1f}{bare:>10.1f}{whole / bare:>15.2f}{whole / yard:>13.1f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
