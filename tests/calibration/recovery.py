"""Random cases whose truth is known: how near a step test comes, and how often its intervals hold.

Readings have noise of 0.1 K and steps of 0.0625 K. Two thirds are exact processes of first order with dead
time, one third plants with set-ups drawn by number; a plant's truth is least squares on the linear plant
under the heat of the test.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from harness.calibration.identify.driven import driven_response
from harness.calibration.identify.told import told
from harness.calibration.process import Estimate, FirstOrder, Interval
from harness.calibration.record import HeatRecord
from harness.calibration.rig import RIGS
from harness.calibration.step_test.on_plant import step_test
from harness.calibration.step_test.open_loop import LOOK_MS, OpenLoop
from harness.calibration.step_test.procedure import Procedure
from plants import ready_plants

NOISE_K, STEP_K = 0.1, 0.0625
FIGURES = ("gain", "dead_time_s", "time_constant_s")

#: Set-ups of the plant cases: parameter and the ends between which it is drawn, by logarithm.
DRAWN: dict[str, dict[str, tuple[float, float]]] = {
    "herms-gas": {
        "liquor_volume": (25.0, 70.0), "mash_volume": (15.0, 40.0), "grain": (3.0, 10.0),
        "liquor_loss": (5.0, 40.0), "mash_loss": (3.0, 15.0), "burner_power": (6.0, 12.0),
        "coil_ua": (250.0, 800.0), "coil_outlet_lag": (3.0, 20.0),
    },
    "direct-fired-mash": {
        "mash_volume": (15.0, 50.0), "grain": (3.0, 10.0), "mash_loss": (4.0, 40.0),
        "burner_power": (4.0, 8.0), "mash_lag": (5.0, 30.0),
    },
    "electric-kettle": {
        "kettle_volume": (30.0, 60.0), "kettle_loss": (4.0, 40.0), "element_power": (2.0, 5.5),
        "kettle_lag": (5.0, 30.0),
    },
}  # fmt: skip


@dataclass(frozen=True)
class Case:
    """One case: the truth, what was found, and how long the test took. `found` is None where not told."""

    name: str
    truth: FirstOrder
    found: Estimate | None
    complete: bool
    length_s: float

    def error(self, figure: str) -> float:
        """Relative error of a figure, of a dead time below one reading that of 1 s; not told is all of it."""
        if self.found is None:
            return 1.0
        true = float(getattr(self.truth, figure))
        return abs(self.found.figures()[figure][0] - true) / max(abs(true), 1.0)

    def inside(self, figure: str) -> bool:
        """Whether the stated interval holds the truth."""
        interval: Interval | None = self.found.figures()[figure][1] if self.found else None
        return interval is not None and getattr(self.truth, figure) in interval


def cases(count: int, seed: int, *, begin: int = 0, plant_every: int = 3) -> Iterator[Case]:
    """The cases from `begin` up to `count`, every third one a plant."""
    for number in range(begin, count):
        rng = np.random.default_rng([seed, number])
        if number % plant_every == plant_every - 1:
            yield plant_case(rng, sorted(DRAWN)[number // plant_every % len(DRAWN)], seed=number)
        else:
            yield exact_case(rng)


def between(rng: np.random.Generator, low: float, high: float) -> float:
    """A number from `low` to `high`, even in its logarithm."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def exact_case(rng: np.random.Generator) -> Case:
    """A process of first order with dead time: 5 min to 4 h, dead time 5 to 180 s, gain 20 to 400 K."""
    truth = FirstOrder(between(rng, 20.0, 400.0), between(rng, 5.0, 180.0), between(rng, 300.0, 14_400.0))
    procedure = Procedure(limit=1e9)
    whole = exact_record(truth, procedure, rng)
    plan = OpenLoop(procedure)
    record = whole
    for at_ms in range(
        procedure.small_from_ms + procedure.shortest_small_ms, procedure.longest_ms + 1, LOOK_MS
    ):
        record = whole.until(at_ms / 1000.0)
        if plan.over(record):
            break
    found = told(record).first_order
    return Case("first order", truth, found, plan.told, float(record.time_s[-1]))


def exact_record(truth: FirstOrder, procedure: Procedure, rng: np.random.Generator) -> HeatRecord:
    """What a noisy probe reads of a process through the whole of a procedure."""
    time_ms = np.arange(0, procedure.longest_ms + 1, procedure.every_ms)
    heat = np.array([float(procedure.wants_heat(int(at))) for at in time_ms])
    time_s = time_ms / 1000.0
    changes = np.concatenate([[0], np.flatnonzero(np.diff(heat)) + 1])
    rise = driven_response(
        time_s, time_s[changes], heat[changes], truth.slope, 1.0 / truth.time_constant_s, truth.dead_time_s
    )
    noisy = 20.0 + rise + NOISE_K * rng.standard_normal(len(rise))
    return HeatRecord(time_s, heat, np.round(noisy / STEP_K) * STEP_K)


def plant_case(rng: np.random.Generator, name: str, *, seed: int) -> Case:
    """A plant with a set-up drawn by number, started at the temperature of its room."""
    setup: dict[str, float | str] = {key: between(rng, *ends) for key, ends in DRAWN[name].items()}
    setup |= {"probe_noise": NOISE_K, "probe_resolution": STEP_K}
    test = step_test(ready_plants()[name], RIGS[name], Procedure(), setup=setup, seed=seed, with_truth=True)
    assert test.told is not None
    assert test.truth is not None
    assert test.truth.least_squares is not None, (name, setup)
    found = test.told.first_order
    return Case(name, test.truth.least_squares, found, test.complete, float(test.record.time_s[-1]))


def score(done: list[Case], figure: str) -> tuple[float, float]:
    """Median relative error, and the share of intervals that hold the truth."""
    return float(np.median([case.error(figure) for case in done])), float(
        np.mean([case.inside(figure) for case in done])
    )
