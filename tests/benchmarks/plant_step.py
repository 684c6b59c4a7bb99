"""Cost and error of the step of all ready plants beside LSODA and CVODE, in one run.

    python -m tests.benchmarks.plant_step [--minutes 120] [--quick] [--case herms]

Needs scikit-sundae (`pip install -e .[test,bench]`). Two tables; the first takes some two minutes of a core,
the second, which `--quick` leaves out, five. All switches change all the time; exchanges of 100 ms.

Four minutes, or a cycle of the plant's and one more, beside others:

- us: processor time of one exchange of the plant: events, looks ahead and new matrices counted.
- error: largest difference from solve_ivp (Radau at 1e-10, exact delays).
- LSODA, CVODE: how many times as long they take for the same, begun afresh at each exchange and event, events
  themselves not counted (see following.py); in brackets the tolerance at which they are fastest among those
  at which they err by no more than the plant, and their error; if all err more, the most accurate one.

The whole run: the error in exchanges of 100 ms and of 2 s; us of all of it, played once.

In the first table all are timed in the same windows of ten seconds, every fifth one, in turns: each is the
least of several plays, all from the same state, for the plant also with the same matrices made.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.benchmarks.following import STEP_MS, Follower, following, played
from tests.benchmarks.solvers import cvode, lsoda
from tests.plants.delay_oracle import until, worst_errors
from tests.plants.switched import CASES, made, schedule

WINDOW_MS, MINUTE_MS, ROUNDS, PLANT_ROUNDS = 10_000, 60_000, 3, 3
STRETCH_MS, EVERY = 4 * MINUTE_MS, 5
SOLVERS = {"LSODA": (lsoda,), "CVODE": (cvode("BDF"), cvode("Adams"))}
TOLERANCES = (1e-6, 1e-7, 1e-8, 1e-9, 1e-10)


def exchanging(plant, time_ms):
    """Advance in exchanges of 100 ms."""
    while plant.time_ms < time_ms:
        plant.advance(min(plant.time_ms + STEP_MS, time_ms))


def play(plant, commands, until_ms):
    """The plant with its commands in exchanges of 100 ms; seconds of CPU time."""
    begun = time.process_time()
    for now in range(plant.time_ms, until_ms, STEP_MS):
        values = commands.get(now)
        if values:
            plant.command(values)
        plant.advance(now + STEP_MS)
    return time.process_time() - begun


def stretch_ms(case):
    """How long a plant is followed beside solvers."""
    return max(STRETCH_MS, case[4] + MINUTE_MS)


def errors(case):
    """Largest error over the stretch [K]: {None: the plant's, (solver, method, tolerance): a solver's}."""
    keys = [
        (name, number, tolerance)
        for name, methods in SOLVERS.items()
        for number in range(len(methods))
        for tolerance in TOLERANCES
    ]
    theirs = [following(SOLVERS[name][number], tolerance) for name, number, tolerance in keys]
    length_ms = stretch_ms(case)
    commands = schedule(case, length_ms + 2 * case[4])
    found = worst_errors(lambda: made(case), commands, length_ms, (exchanging, *theirs), "Radau")
    return dict(zip([None, *keys], found, strict=True))


def good(found):
    """The solvers and tolerances that err by no more than the plant; if none does, the most accurate."""
    kept = {}
    for name in SOLVERS:
        of_name = [key for key in found if key and key[0] == name]
        kept[name] = [key for key in of_name if found[key] <= found[None]]
        kept[name] = kept[name] or [min(of_name, key=found.get)]
    return kept


def costs(case, wanted):
    """Processor time of an exchange [us]: {None: of the plant, key: of each of `wanted`}."""
    plant, commands = made(case), dict(schedule(case, stretch_ms(case) + MINUTE_MS + 2 * case[4]))
    sums, windows = dict.fromkeys([None, *wanted], 0.0), 0
    for begin_ms in range(0, stretch_ms(case), WINDOW_MS):
        saved, end = plant.save(), begin_ms + WINDOW_MS
        if (begin_ms // WINDOW_MS) % EVERY != 1:
            play(plant, commands, end)
            continue
        known = {mode: dict(mode._lengths) for mode in plant._stepper._modes.values()}
        keys, windows = dict(plant._stepper._modes), windows + 1
        least = dict.fromkeys(sums, float("inf"))
        for _ in range(ROUNDS):
            for _ in range(PLANT_ROUNDS):
                plant._stepper._modes = dict(keys)
                for mode, lengths in known.items():
                    mode._lengths = dict(lengths)
                plant.restore(saved)
                least[None] = min(least[None], play(plant, commands, end))
            for key in wanted:
                other = made(case)
                other.restore(saved)
                follower = Follower(other, SOLVERS[key[0]][key[1]], key[2])
                least[key] = min(least[key], played(follower, commands, end))
        for key, seconds in least.items():
            sums[key] += seconds * 1e6 / (WINDOW_MS // STEP_MS)
    return {key: us / windows for key, us in sums.items()}


def beside_solvers(case):
    """A line of the first table."""
    found = errors(case)
    kept = good(found)
    times = costs(case, [key for keys in kept.values() for key in keys])
    cells = [case[0], case[1], str(len(made(case)._net.states)), f"{times[None]:.1f}", f"{found[None]:.0e}"]
    for keys in kept.values():
        best = min(keys, key=times.get)
        cells.append(f"{times[best] / times[None]:.1f} ({best[2]:.0e}, {found[best]:.0e} K)")
    return cells


def whole(case, minutes):
    """A line of the second table."""
    commands, length_ms = schedule(case, minutes * MINUTE_MS), minutes * MINUTE_MS
    found = worst_errors(lambda: made(case), commands, length_ms, (exchanging, until), "Radau")
    us = play(made(case), dict(commands), length_ms) / (length_ms // STEP_MS) * 1e6
    return [case[0], case[1], *(f"{error:.0e}" for error in found), f"{us:.1f}"]


def table(heads, lines):
    """Print a table line by line as they come."""
    print(f"| {' | '.join(heads)} |\n|{' --- |' * len(heads)}", flush=True)
    for cells in lines:
        print(f"| {' | '.join(cells)} |", flush=True)


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--minutes", type=int, default=120)
    options.add_argument("--quick", action="store_true", help="without the whole run")
    options.add_argument("--case", default="", help="only plants whose name begins so")
    options.add_argument("--jobs", type=int, default=os.cpu_count(), help="cases at once")
    given = options.parse_args()
    cases = [one for one in CASES if one[0].startswith(given.case)]
    with ProcessPoolExecutor(given.jobs) as pool:
        table(
            ["plant", "", "states", "us", "error [K]", "LSODA", "CVODE"], pool.map(beside_solvers, cases)
        )
        if not given.quick:
            lengths = [given.minutes] * len(cases)
            table(["plant", "", "error [K]", "at 2 s", "us, all of it"], pool.map(whole, cases, lengths))


if __name__ == "__main__":
    main()
