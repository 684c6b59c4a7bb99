"""Cost and error of stepping the kiln and the fermentation chamber: ratios on this machine, in one run.

    python tests/benchmarks/electric_plants.py [--minutes 120]

Prints the time of one 250 ms step of each plant beside LSODA of scipy on the same equations, both restarted
at each step and left to choose its own steps over ten minutes between switchings; and the largest difference
from Radau at 1e-10 over a run in which heat and cold are switched all the time.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np
from scipy.integrate import odeint

sys.path.insert(0, str(Path(__file__).parents[2]))

from plants import ready_plants
from tests.plants.delay_oracle import DelayOracle, worst_error

READY = ready_plants()
CASES = (
    ("pottery-kiln", {"kiln_start": 900.0}, 10_000, 20_000),
    ("fermentation-chamber", {"fan": "with-compressor"}, 300_000, 600_000),
)
STEP_MS, STEPS, ROUNDS = 250, 1000, 5


def switching(kind, on_ms, period_ms, length_ms):
    """The first actuator on for a part of each period."""
    rest = [0] * (len(kind.actuators) - 1)
    starts = range(1000, length_ms - period_ms, period_ms)
    return [(start + wait, [on, *rest]) for start in starts for wait, on in ((0, 1), (on_ms, 0))]


def driven(kind, setup):
    """A plant that has been on for ten seconds."""
    plant = kind(setup)
    plant.command([1] + [0] * (len(kind.actuators) - 1))
    plant.advance(10_000)
    return plant


def slope_of(plant):
    """The plant's own right-hand side for odeint, and the present states."""
    oracle = DelayOracle(plant)
    matrix, count = plant._net.matrix(), oracle.states
    inputs = np.array(plant._stepper.now[count : count + len(plant._net.inputs)])
    return lambda x, t: matrix @ np.array(oracle.stacked(t, x, inputs)), oracle.x.copy()


def best_of(count, action):
    """Best time for one of `count` actions over some rounds [us]."""
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.perf_counter()
        for _ in range(count):
            action()
        best = min(best, (time.perf_counter() - start) / count * 1e6)
    return best


def costs(kind, setup):
    """Microseconds for 250 ms: the plant, LSODA restarted, LSODA left alone for ten minutes."""
    plant = driven(kind, setup)
    slope, x = slope_of(driven(kind, setup))
    short, long = [0.0, STEP_MS * 0.001], [0.0, 600.0]
    mine = best_of(STEPS, lambda: plant.advance(plant.time_ms + STEP_MS))
    restarted = best_of(50, lambda: odeint(slope, x, short, rtol=1e-6, atol=1e-6))
    alone = best_of(1, lambda: odeint(slope, x, long, rtol=1e-10, atol=1e-6, mxstep=100_000))
    return mine, restarted, alone * STEP_MS / 600_000.0


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--minutes", type=int, default=120)
    length_ms = options.parse_args().minutes * 60_000
    for name, setup, on_ms, period_ms in CASES:
        kind = READY[name]
        mine, restarted, alone = costs(kind, setup)
        print(f"{name}: {mine:.1f} us a step of {STEP_MS} ms")
        print(f"  LSODA restarted each step: {restarted / mine:.1f} times as long")
        print(f"  LSODA left alone: {alone / mine:.2f} times as long")
        cycles = switching(kind, on_ms, period_ms, length_ms)
        worst = worst_error(lambda kind=kind, setup=setup: kind(setup), cycles, length_ms, "Radau")
        print(f"  largest error over {length_ms // 60_000} min against Radau at 1e-10: {worst:.1e} K")


if __name__ == "__main__":
    main()
