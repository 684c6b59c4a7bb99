"""Cost and error of the step of all ready plants beside LSODA and CVODE, in one run.

    python -m tests.benchmarks.plant_step [--minutes 120] [--quick] [--case herms]

Needs scikit-sundae beside the packages of the tests; the whole takes some minutes, `--quick` one or two. One
line a case. All switches change all the time; the plant is advanced in exchanges of 100 ms.

- error: largest difference from solve_ivp (Radau at 1e-10, exact delays) over the whole run, at exchanges of
  100 ms and of 2 s.
- us: CPU time of one exchange of 100 ms, events and all, over ten minutes, each piece of them the least of
  several plays; and the mean over the whole run, played once (matrices made, the machine's noise).
- LSODA, CVODE: how many times as long they take for 100 ms, begun afresh at each exchange (see solvers.py),
  at the tolerance at which they are fastest among those at which they err by no more than the plant does
  over the whole run, in brackets. They need do so for three minutes only, with nothing switched; if none
  does, the most accurate one counts. Interleaved with the plays of the plant, in the same ten minutes.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.benchmarks.solvers import Problem, cvode, lsoda
from tests.plants.delay_oracle import until, worst_errors
from tests.plants.switched import CASES, made, schedule

STEP_MS, WINDOW_MS, MINUTE_MS, MINUTES, ROUNDS = 100, 10_000, 60_000, 10, 8
ALONE_MINUTES = 3
SOLVERS = {"LSODA": (lsoda,), "CVODE": (cvode("BDF"), cvode("Adams"))}
TOLERANCES = (1e-6, 1e-7, 1e-8, 1e-9, 1e-10)
FINEST = 1e-12


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


def problem_at(case, saved):
    """The equations of a case at a saved state."""
    plant = made(case)
    plant.restore(saved)
    return Problem(plant)


def errors_of_solvers(case, saved):
    """{(solver, method, tolerance): largest error [K]} after three minutes from a state, nothing switched."""

    def end(method, tolerance):
        problem = problem_at(case, saved)
        step = method(problem, tolerance)
        for _ in range(ALONE_MINUTES * MINUTE_MS // STEP_MS):
            step()
        return problem.y, problem.kelvins

    truth, kelvins = end(lsoda, FINEST)
    return {
        (name, number, tolerance): float(np.abs((end(method, tolerance)[0] - truth) * kelvins).max())
        for name, methods in SOLVERS.items()
        for number, method in enumerate(methods)
        for tolerance in TOLERANCES
    }


def costs(case, wanted):
    """Least CPU time of 100 ms [us]: of the plant, and of each of `wanted` (solver, method, tolerance).

    Windows of ten seconds; the solvers are asked in the first one of each minute.
    """
    plant, commands = made(case), dict(schedule(case, (MINUTES + 1) * MINUTE_MS + 2 * case[4]))
    sums, count = dict.fromkeys(["plant", *wanted], 0.0), 10
    windows = range(WINDOW_MS, MINUTES * MINUTE_MS, WINDOW_MS)
    for end_ms in windows:
        saved, steps = plant.save(), {}
        if end_ms % MINUTE_MS == WINDOW_MS:
            steps = {key: SOLVERS[key[0]][key[1]](problem_at(case, saved), key[2]) for key in wanted}
        least = dict.fromkeys(["plant", *steps], float("inf"))
        for _ in range(ROUNDS):
            plant.restore(saved)
            spent = play(plant, commands, end_ms)
            least["plant"] = min(least["plant"], spent / (WINDOW_MS // STEP_MS))
            for key, step in steps.items():
                begun = time.process_time()
                for _ in range(count):
                    step()
                least[key] = min(least[key], (time.process_time() - begun) / count)
        for key, seconds in least.items():
            sums[key] += seconds * 1e6 / (len(windows) if key == "plant" else MINUTES)
    return sums


def line(case, minutes):
    """The figures of one case as a line of the table."""
    commands, length_ms = schedule(case, minutes * MINUTE_MS), minutes * MINUTE_MS
    error, coarse = worst_errors(lambda: made(case), commands, length_ms, (exchanging, until), "Radau")
    whole_us = play(made(case), dict(commands), length_ms) / (length_ms // STEP_MS) * 1e6
    plant = made(case)
    play(plant, dict(schedule(case, 10 * case[4])), 30_000)
    theirs = errors_of_solvers(case, plant.save())
    times = costs(case, theirs)
    cells = [case[0], case[1], str(len(plant._net.states)), f"{times['plant']:.1f}", f"{whole_us:.1f}"]
    for name in SOLVERS:
        of_name = {key: theirs[key] for key in theirs if key[0] == name}
        good = [key for key in of_name if of_name[key] <= error] or [min(of_name, key=of_name.get)]
        best = min(good, key=times.get)
        cells.append(f"{times[best] / times['plant']:.1f} ({best[2]:.0e}, {of_name[best]:.0e} K)")
    return " | ".join([*cells, f"{error:.0e}", f"{coarse:.0e}"])


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--minutes", type=int, default=120)
    options.add_argument("--quick", action="store_true", help="four minutes for the error")
    options.add_argument("--case", default="", help="only plants whose name begins so")
    options.add_argument("--jobs", type=int, default=os.cpu_count(), help="cases at once")
    given = options.parse_args()
    minutes = 4 if given.quick else given.minutes
    cases = [one for one in CASES if one[0].startswith(given.case)]
    print("| plant | | states | us | whole run | LSODA | CVODE | error [K] | at 2 s |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    with ProcessPoolExecutor(given.jobs) as pool:
        for one in pool.map(line, cases, [minutes] * len(cases)):
            print(f"| {one} |", flush=True)


if __name__ == "__main__":
    main()
