"""Cost and error of stepping a plant: ratios on this machine, in one run.

    python tests/benchmarks/plant_step.py [--minutes 120] [--radau-minutes 2]

Prints the time of one 250 ms exchange step of herms-gas (advance; sample; read six probes) beside LSODA of
scipy restarted at each step on the same equations and a bare 12 x 12 matrix-vector product, all interleaved,
best of several; and the largest difference from solve_ivp with exact delays (DOP853 at 1e-10; Radau at 1e-10
for the first minutes) over a run in which burner and pump switch all the time.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from plants import ready_plants
from tests.plants.delay_oracle import DelayOracle, worst_error

HERMS = ready_plants()["herms-gas"]
SETUP = {"liquor_start": 60.0, "mash_start": 50.0}
STEP_MS = 250
STEPS = 2000


def running():
    """A plant in the middle of heating, with burner and pump on."""
    plant = HERMS(SETUP)
    plant.command([1, 1, 1])
    plant.advance(60_000)
    return plant


def timed(count, action):
    """Microseconds for one of `count` actions."""
    start = time.perf_counter()
    for _ in range(count):
        action()
    return (time.perf_counter() - start) / count * 1e6


def lsoda_step():
    """LSODA restarted for each step: the plant's own right-hand side, delays frozen over the step."""
    from scipy.integrate import odeint

    plant = running()
    oracle = DelayOracle(plant)
    matrix, count, inputs = plant._net.matrix(), oracle.states, len(plant._net.inputs)
    z = np.array(plant._stepper.now[: plant._net.width])
    rates, indices = plant._net.rates, [[slot.index for slot in one.arguments] for one in plant._net.rates]

    def slope(x, _):
        z[:count] = x
        values = []
        for one, index in zip(rates, indices, strict=True):
            values += one.function(*x[index].tolist())
        z[count + inputs : count + inputs + len(values)] = values
        return matrix @ z

    state = [z[:count].copy()]

    def step():
        state[0] = odeint(slope, state[0], [0.0, STEP_MS * 0.001], rtol=1e-6, atol=1e-6)[-1]

    return step


def costs(rounds=7):
    """Best time of each action over interleaved rounds [us]."""
    plant = running()
    saved = plant.save()
    read = plant.reader([(one.name, one.units[0]) for one in plant.probes])
    matrix, vector = np.random.default_rng(1).random((12, 12)), np.ones(12)
    actions = {
        "bare 12x12 product": (20_000, lambda: matrix @ vector),
        "advance by 250 ms": (STEPS, lambda: plant.advance(plant.time_ms + STEP_MS)),
        "sample all signals": (STEPS, plant.sample),
        "read six probes": (STEPS, read),
        "LSODA restarted": (100, lsoda_step()),
    }
    best = dict.fromkeys(actions, float("inf"))
    for _ in range(rounds):
        for name, (count, action) in actions.items():
            plant.restore(saved)
            best[name] = min(best[name], timed(count, action))
    return best


def schedule(length_ms):
    """A burner cycle each 90 s, the pump off now and then."""
    steps = [(0, [0, 0, 1])]
    for number, start in enumerate(range(5000, length_ms - 90_000, 90_000)):
        steps += [
            (start, [1, 1, 1]),
            (start + 4000, [1, 0, 1]),
            (start + 60_000, [0, 0, int(number % 7 != 3)]),
        ]
    return steps


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--minutes", type=int, default=120)
    options.add_argument("--radau-minutes", type=int, default=2)
    given = options.parse_args()
    best = costs()
    bare = best["bare 12x12 product"]
    for name, micro in best.items():
        print(f"{name:22s} {micro:9.2f} us  {micro / bare:8.1f} x bare product")
    print(f"LSODA / advance        {best['LSODA restarted'] / best['advance by 250 ms']:9.1f}")
    for method, minutes in (("DOP853", given.minutes), ("Radau", given.radau_minutes)):
        length_ms = minutes * 60_000
        worst = worst_error(lambda: HERMS({"ambient": 12.0}), schedule(length_ms), length_ms, method)
        print(f"largest error over {minutes} min against {method} at 1e-10: {worst:.1e} K (and g of water)")


if __name__ == "__main__":
    main()
