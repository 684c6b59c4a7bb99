"""Cost and error of stepping the ready plants: ratios on this machine, in one run.

    python tests/benchmarks/plant_step.py [--minutes 120] [--radau-minutes 2] [--case herms]

Prints for each case the time of one 100 ms step (advance) beside LSODA of scipy and CVODE of scikit-sundae
(if that is installed), both restarted at each step on the same equations with delays frozen over it, at a
relative tolerance of 1e-6; all interleaved, best of several. Then the largest difference from solve_ivp with
exact delays (DOP853 at 1e-10; Radau at 1e-10 for the first minutes) over a run in which all switches change
all the time. LSODA left alone for ten minutes is printed too: nothing that switches can leave it alone.
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
from tests.plants.delay_oracle import worst_error

READY = ready_plants()
BOIL = {"altitude": 1600.0}
# name of the case, plant, set-up, fault in force; length of a cycle and of its heating [ms]
CASES = (
    ("herms heating", "herms-gas", {"liquor_start": 60.0, "mash_start": 50.0}, None, 90_000, 60_000),
    ("herms boiling", "herms-gas", {"liquor_start": 94.0, "mash_start": 90.0, "burner_power": 15.0, **BOIL},
     None, 90_000, 60_000),
    ("herms, flow restricted", "herms-gas", {"liquor_start": 60.0, "mash_start": 50.0}, "flow-restricted",
     90_000, 60_000),
    ("mash heating", "direct-fired-mash", {"mash_start": 50.0}, None, 90_000, 45_000),
    ("mash boiling", "direct-fired-mash", {"mash_start": 92.0, **BOIL}, None, 90_000, 60_000),
    ("kettle heating", "electric-kettle", {"kettle_start": 40.0}, None, 60_000, 30_000),
    ("kettle boiling", "electric-kettle", {"kettle_start": 94.0, "kettle_open": 80.0, **BOIL}, None,
     60_000, 50_000),
    ("kiln", "pottery-kiln", {"kiln_start": 900.0}, None, 20_000, 10_000),
    ("chamber", "fermentation-chamber", {}, None, 600_000, 300_000),
)  # fmt: skip
STEP_MS, STEPS, ROUNDS = 100, 1000, 5


def made(case):
    """A fresh plant of a case."""
    _, name, setup, fault, *_ = case
    plant = READY[name](setup)
    if fault:
        plant.begin_fault(fault, None, {})
    return plant


def on(plant):
    """A command with everything on, but of two opposites (heat and cold) only the first."""
    count = len(plant.actuators)
    return [1] * count if count != 2 else [1, 0]


def driven(case):
    """A plant that has been on for two minutes."""
    plant = made(case)
    plant.command(on(plant))
    plant.advance(120_000)
    return plant


def schedule(case, length_ms):
    """Everything on and off again and again; an igniter only for four seconds, the pump mostly on."""
    *_, period_ms, on_ms = case
    count, steps = len(made(case).actuators), []
    for number, start in enumerate(range(1000, length_ms - period_ms, period_ms)):
        if count == 3:
            pump = int(number % 7 != 3)
            steps += [(start, [1, 1, 1]), (start + 4000, [1, 0, 1]), (start + on_ms, [0, 0, pump])]
        else:
            rest = [0] * (count - 1)
            steps += [(start, [1, *rest]), (start + on_ms, [0, *rest])]
    return steps


def slope_of(plant):
    """The plant's own right-hand side f(x), delays frozen, and the present states."""
    matrix, count, inputs = plant._net.matrix(), len(plant._net.states), len(plant._net.inputs)
    z = np.array(plant._stepper.now[: plant._net.width])
    rates, indices = plant._net.rates, [[slot.index for slot in one.arguments] for one in plant._net.rates]

    def slope(x):
        z[:count] = x
        values = []
        for one, index in zip(rates, indices, strict=True):
            values += one.function(*x[index].tolist())
        z[count + inputs : count + inputs + len(values)] = values
        return matrix @ z

    return slope, z[:count].copy()


def cvode_step(slope, x):
    """One step of CVODE restarted; None where scikit-sundae is not installed."""
    try:
        from sksundae.cvode import CVODE
    except ImportError:
        return None

    def filled(_, y, out):
        out[:] = slope(y)

    solver = CVODE(filled, rtol=1e-6, atol=1e-6)

    def step():
        solver.init_step(0.0, x)
        solver.step(STEP_MS * 0.001)

    return step


def best_times(actions):
    """Least time of each action [us] over interleaved rounds; each action with its count."""
    best = dict.fromkeys(actions, float("inf"))
    for _ in range(ROUNDS):
        for name, (count, action) in actions.items():
            start = time.perf_counter()
            for _ in range(count):
                action()
            best[name] = min(best[name], (time.perf_counter() - start) / count * 1e6)
    return best


def costs(case):
    """Microseconds of one step by each way."""
    plant = driven(case)
    slope, x = slope_of(driven(case))
    short, tolerance = [0.0, STEP_MS * 0.001], {"rtol": 1e-6, "atol": 1e-6}
    cvode = cvode_step(slope, x)

    def by_time(y, _):
        return slope(y)

    actions = {
        "advance": (STEPS, lambda: plant.advance(plant.time_ms + STEP_MS)),
        "LSODA": (50, lambda: odeint(by_time, x, short, **tolerance)),
    }
    if cvode:
        actions["CVODE"] = (50, cvode)
    best = best_times(actions)
    alone = best_times(
        {"alone": (1, lambda: odeint(by_time, x, [0.0, 600.0], rtol=1e-10, atol=1e-6, mxstep=100_000))}
    )
    return {**best, "LSODA alone": alone["alone"] * STEP_MS / 600_000.0}


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--minutes", type=int, default=120)
    options.add_argument("--radau-minutes", type=int, default=2)
    options.add_argument("--case", default="")
    given = options.parse_args()
    for case in (one for one in CASES if one[0].startswith(given.case)):
        best = costs(case)
        mine = best.pop("advance")
        others = ", ".join(f"{name} {us / mine:.1f}" for name, us in best.items())
        print(f"{case[0]}: {mine:.2f} us a step of {STEP_MS} ms; times as long: {others}")
        for method, minutes in (("DOP853", given.minutes), ("Radau", given.radau_minutes)):
            length_ms = minutes * 60_000
            if not length_ms:
                continue
            worst = worst_error(lambda case=case: made(case), schedule(case, length_ms), length_ms, method)
            print(f"  largest error over {minutes} min against {method} at 1e-10: {worst:.1e} K", flush=True)


if __name__ == "__main__":
    main()
