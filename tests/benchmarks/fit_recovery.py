"""Do fitted parameters come back from logs made with drawn ones, and how often inside their intervals?

Run by hand: `python tests/benchmarks/fit_recovery.py [CASES]`, 300 by default, two seconds each. A case: an
electric kettle with parameters drawn by its number, heated for a drawn share of 30 to 90 min, read every 15 s
with 0.1 K of noise in steps of 0.0625 K; in every second case the log's heat is a duty. Prints the median
error and the share of cases inside the 95 % interval.
"""

from __future__ import annotations

import sys
from dataclasses import replace

import numpy as np

from harness.calibration.fitting.fit_log import fit_log
from harness.calibration.fitting.log import RigLog
from harness.calibration.fitting.play import Player
from harness.calibration.rig import RIGS
from plants import ready_plants

NAME, FREE, WITHIN = "electric-kettle", ("element_power", "kettle_loss"), 0.05
KIND, RIG = ready_plants()[NAME], RIGS[NAME]


def case(number: int) -> dict[str, tuple[float, bool]]:
    """Relative error of each parameter, and whether its interval holds the truth."""
    draw = np.random.default_rng(number)
    true = {"element_power": draw.uniform(1.5, 6.0), "kettle_loss": draw.uniform(3.0, 25.0)}
    known = {"kettle_volume": draw.uniform(10.0, 40.0), "kettle_lag": draw.uniform(2.0, 40.0)}
    time_s = np.arange(0.0, 60.0 * draw.uniform(30.0, 90.0), 15.0)
    duty = draw.uniform(0.2, 0.9) if number % 2 else 1.0
    # Below boiling, where losses are told by cooling.
    rise_s = 45.0 * known["kettle_volume"] * 4.19 / (true["element_power"] * duty)
    until_s = min(120.0 + rise_s, draw.uniform(0.4, 0.7) * time_s[-1])
    heat = np.where((time_s > 120.0) & (time_s < until_s), duty, 0.0)
    empty = RigLog("drawn", time_s, heat, False, {"kettle": np.zeros(len(time_s))}, {"kettle": "degC"})
    start = draw.uniform(8.0, 28.0)
    clean = Player(KIND, RIG, empty, {"kettle": "kettle"}, {}).play({**known, **true, "kettle_start": start})
    readings = np.round((clean + draw.normal(0.0, 0.1, clean.shape)) / 0.0625) * 0.0625
    log = replace(empty, columns={"kettle": readings[:, 0]})
    found = fit_log(log, NAME, KIND, RIG, free=FREE, known=known).fitted
    return {
        name: (abs(found.values[name] / value - 1.0), value in found.intervals[name])
        for name, value in true.items()
    }


def main() -> None:
    """Fit the cases and print a row a parameter."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    cases = [case(number) for number in range(count)]
    print(f"{count} logs, every second one with a duty")
    for name in FREE:
        errors = [one[name][0] for one in cases]
        inside = sum(one[name][1] for one in cases)
        print(
            f"  {name:14} median error {np.median(errors):.2%}, within {WITHIN:.0%}: "
            f"{np.mean(np.array(errors) <= WITHIN):.0%}, inside its 95 % interval: {inside / count:.1%}"
        )


if __name__ == "__main__":
    main()
