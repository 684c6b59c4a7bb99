"""Do fitted parameters come back from logs made with drawn ones, and how often inside their intervals?

Run by hand: `python -m tests.benchmarks.fit_recovery [CASES]`, 300 by default, two at a time. Every sixth
case is a herms-gas rig, heated for part of two to three hours and read at tank, coil and pump; the others
are electric kettles over 30 to 90 min. Parameters, start and lengths are drawn by the case's number.
Readings come every 15 s with 0.1 K of noise in steps of 0.0625 K; in every second case the log's heat is a
duty. What a rule or a scale would measure is known. Prints the median error and the share of cases inside
the 95 % interval.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from harness.calibration.fitting.fit_log import fit_log
from harness.calibration.fitting.log import RigLog
from harness.calibration.fitting.play import Player
from harness.calibration.rig import RIGS
from plants import ready_plants

WITHIN = 0.05
Draw = np.random.Generator


@dataclass(frozen=True)
class Rig:
    """Ranges of what is fitted and of what is known; how long it is logged [min], and what is read."""

    plant: str
    free: Mapping[str, tuple[float, float]]
    known: Mapping[str, tuple[float, float]]
    minutes: tuple[float, float]
    probes: Mapping[str, str]
    starts: tuple[str, ...]


KETTLE = Rig(
    "electric-kettle",
    free={"element_power": (1.5, 6.0), "kettle_loss": (3.0, 25.0)},
    known={"kettle_volume": (10.0, 40.0), "kettle_lag": (2.0, 40.0)},
    minutes=(30.0, 90.0),
    probes={"kettle": "kettle"},
    starts=("kettle_start",),
)
HERMS = Rig(
    "herms-gas",
    free={
        "burner_efficiency": (30.0, 70.0), "base_heat": (2.0, 15.0), "liquor_loss": (3.0, 25.0),
        "mash_loss": (2.0, 15.0), "coil_ua": (150.0, 800.0),
    },
    known={"liquor_volume": (40.0, 80.0), "mash_volume": (20.0, 45.0), "burner_power": (6.0, 14.0)},
    minutes=(120.0, 180.0),
    probes={name: name for name in ("liquor", "coil_outlet", "pump_inlet")},
    starts=("liquor_start", "mash_start"),
)  # fmt: skip


def _drawn(draw: Draw, ranges: Mapping[str, tuple[float, float]]) -> dict[str, float]:
    return {name: float(draw.uniform(*ends)) for name, ends in ranges.items()}


def _heated_s(draw: Draw, rig: Rig, values: Mapping[str, float], duty: float, end_s: float) -> float:
    """Until when it is heated: some 45 K at most, so that losses show in cooling and nothing boils."""
    if rig is KETTLE:
        watts, litres = 1000.0 * values["element_power"], values["kettle_volume"]
    else:
        watts = 10.0 * values["burner_efficiency"] * values["burner_power"]
        litres = values["liquor_volume"] + values["mash_volume"] + 4.0
    rise_s = 45.0 * litres * 4186.0 / (watts * duty)
    return min(120.0 + rise_s, float(draw.uniform(0.4, 0.7)) * end_s)


def case(number: int) -> tuple[str, dict[str, tuple[float, bool]]]:
    """The plant, and of each parameter the relative error and whether its interval holds the truth."""
    draw, rig = np.random.default_rng(number), HERMS if number % 6 == 5 else KETTLE
    kind, part = ready_plants()[rig.plant], RIGS[rig.plant]
    true, known = _drawn(draw, rig.free), _drawn(draw, rig.known)
    time_s = np.arange(0.0, 60.0 * draw.uniform(*rig.minutes), 15.0)
    duty = float(draw.uniform(0.3, 0.9)) if number // 2 % 2 else 1.0
    until_s = _heated_s(draw, rig, {**true, **known}, duty, float(time_s[-1]))
    heat = np.where((time_s > 120.0) & (time_s < until_s), duty, 0.0)
    nothing = np.zeros(len(time_s))
    units = dict.fromkeys(rig.probes, "degC")
    empty = RigLog("drawn", time_s, heat, False, dict.fromkeys(rig.probes, nothing), units)
    start = _drawn(draw, dict.fromkeys(rig.starts, (8.0, 28.0)))
    clean = Player(kind, part, empty, rig.probes, {}).play({**known, **true, **start})
    readings = np.round((clean + draw.normal(0.0, 0.1, clean.shape)) / 0.0625) * 0.0625
    log = replace(empty, columns={name: readings[:, at] for at, name in enumerate(rig.probes)})
    found = fit_log(log, rig.plant, kind, part, free=tuple(rig.free), known=known).fitted
    return rig.plant, {
        name: (abs(found.values[name] / value - 1.0), value in found.intervals[name])
        for name, value in true.items()
    }


def main() -> None:
    """Fit the cases and print a row a parameter."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    with ProcessPoolExecutor(2) as pool:
        cases = list(pool.map(case, range(count)))
    print(f"{count} logs, every second one with a duty")
    for rig in (KETTLE, HERMS):
        told = [figures for plant, figures in cases if plant == rig.plant]
        print(f"{rig.plant}, {len(told)} logs")
        for name in rig.free if told else ():
            errors = np.array([one[name][0] for one in told])
            inside = np.mean([one[name][1] for one in told])
            print(
                f"  {name:18} median error {np.median(errors):.2%}, within {WITHIN:.0%}: "
                f"{np.mean(errors <= WITHIN):.0%}, inside its 95 % interval: {inside:.1%}"
            )


if __name__ == "__main__":
    main()
