"""What a plant really is at an operating point, as one lag and a dead time: what a step test is judged by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from harness.calibration.identify.least_squares import Fit, fit
from harness.calibration.process import FirstOrder
from harness.calibration.record import Array, HeatRecord
from harness.calibration.rig import Rig
from harness.calibration.truth.half_rule import half_rule
from harness.calibration.truth.small_signal import SmallSignal, small_signal
from plants import Plant


@dataclass(frozen=True)
class Truth:
    """The plant around an operating point.

    Attributes
    ----------
    at_s : moment of the test at which it was linearised. [s]
    point : the plant's temperatures there, by signal. [degC]
    gain : final rise for full heat, if the plant were linear. [K]
    half_rule : first order by Skogestad's half rule; None where it does not apply.
    least_squares : first order that follows the linear plant best under the heat of the test, without noise
        and steps of the probe; None where the losses are too small.
    fit : the whole fit behind it.
    """

    at_s: float
    point: Mapping[str, float]
    gain: float
    half_rule: FirstOrder | None
    least_squares: FirstOrder | None
    fit: Fit


def truth_at(plant: Plant, rig: Rig, record: HeatRecord) -> Truth:
    """The truth of a plant as it stands, for the heat of a record; the plant is left as it was.

    Raises
    ------
    ValueError
        If the heat does not reach the probe at this state.
    """
    model = small_signal(plant, rig)
    followed = fit(linear_record(model, record))
    estimate = followed.first_order()
    process = estimate.process if estimate else None
    point = {
        signal.name: value
        for signal, value in zip(plant.signals, plant.sample(), strict=True)
        if signal.unit == "degC"
    }
    return Truth(
        plant.time_ms / 1000.0, point, model.gain, reduced(model),
        process if isinstance(process, FirstOrder) else None, followed,
    )  # fmt: skip


def linear_record(model: SmallSignal, record: HeatRecord) -> HeatRecord:
    """What the linear plant would have shown under the same heat, starting at 0."""
    every_s = float(np.min(np.diff(record.time_s)))
    grid = np.arange(round((record.time_s[-1] - record.time_s[0]) / every_s) + 1) * every_s
    rise: Array = model.response(_on_grid(record, grid + record.time_s[0]), every_s)
    seen = np.interp(record.time_s - record.time_s[0], grid, rise)
    return HeatRecord(record.time_s, record.heat, seen, record.probe)


def _on_grid(record: HeatRecord, grid_s: Array) -> Array:
    """The heat of a record as the mean over each of equal spans."""
    total = np.concatenate([[0.0], np.cumsum(record.heat[:-1] * np.diff(record.time_s))])
    edges = np.append(grid_s, grid_s[-1] + (grid_s[-1] - grid_s[-2]))
    sums = np.interp(edges, record.time_s, total)
    return np.asarray(np.diff(sums) / np.diff(edges))


def reduced(model: SmallSignal) -> FirstOrder | None:
    """First order by the half rule; None with a lag that is not above 0 or does not end."""
    lags, numerators, dead_s = model.factors
    if not lags or min(lags) <= 0.0 or not np.isfinite(lags).all():
        return None
    found = half_rule(model.gain, lags, numerators, dead_s)
    return FirstOrder(found.gain, found.dead_time_s, found.lags_s[0])
