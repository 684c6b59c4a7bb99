"""How near a step test comes to a known truth: 300 random cases (`python -m tests.benchmarks.step_recovery`).

Prints each case, and by kind: the median error, how often the stated 95 % interval holds the truth, how long
the tests took in bench time. The tests play a part of the same cases.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from tests.calibration.recovery import FIGURES, Case, cases, score

COUNT, SEED = 300, 6


def main(count: int) -> None:
    """Play the cases and print what came of them."""
    begun = time.perf_counter()
    done: list[Case] = []
    for number, case in enumerate(cases(count, SEED)):
        done.append(case)
        held = "".join(" x"[not case.inside(figure)] for figure in FIGURES)
        errors = "  ".join(f"{100 * case.error(figure):6.2f} %" for figure in FIGURES)
        truth = case.truth
        print(
            f"{number:3} {case.name:18} K {truth.gain:6.1f}  L {truth.dead_time_s:6.1f}  "
            f"T {truth.time_constant_s:8.0f}  off by {errors}  missed {held}  "
            f"{case.length_s / 3600:4.2f} h{'' if case.complete else '  not told'}"
        )
    kinds = sorted({case.name for case in done})
    for kind in [*kinds, "all"]:
        some = [case for case in done if kind in (case.name, "all")]
        scores = {figure: score(some, figure) for figure in FIGURES}
        figures = "  ".join(
            f"{figure}: median {100 * median:.2f} %, inside {100 * inside:.1f} %"
            for figure, (median, inside) in scores.items()
        )
        hours = np.array([case.length_s for case in some]) / 3600.0
        told = sum(case.complete for case in some)
        lasted = f"{np.median(hours):.2f} h, {hours.max():.2f} at most"
        print(f"{kind} ({len(some)}, {told} told): {figures}; {lasted}")
    print(f"{time.perf_counter() - begun:.0f} s of wall time")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else COUNT)
