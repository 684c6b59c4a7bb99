"""From the record of the procedure to plain step responses, as the methods by hand want them."""

from __future__ import annotations

import numpy as np

from harness.calibration.identify.driven import driven_response
from harness.calibration.identify.least_squares import Fit
from harness.calibration.record import Array, HeatRecord
from harness.calibration.step_test.procedure import Procedure

_AFTER_S = 120.0
"""The steepest point may come after full heat has ended, by the dead time."""


def full_step(record: HeatRecord, procedure: Procedure, fit: Fit) -> tuple[Array, Array]:
    """The rise under full heat, from when the heat came: times [s] and rise [K], each shape (n,).

    The rows up to the dead time after its end still belong to it.
    """
    first = np.flatnonzero(record.heat > 0.0)
    if not len(first):
        raise ValueError("no heat flowed in this record.")
    row = int(first[0])
    every_s = float(np.diff(record.time_s[row : row + 2])[0])
    begun_s = float(record.time_s[row]) + (1.0 - float(record.heat[row])) * every_s
    until_s = procedure.full_until_ms / 1000.0 + min(fit.dead_s, _AFTER_S)
    rows = (record.time_s >= begun_s) & (record.time_s <= until_s) & np.isfinite(record.temperature)
    before = record.temperature[(record.time_s < begun_s) & np.isfinite(record.temperature)]
    base = float(before.mean()) if len(before) else fit.start
    return record.time_s[rows] - begun_s, record.temperature[rows] - base


def small_step(record: HeatRecord, procedure: Procedure, fit: Fit) -> tuple[Array, Array]:
    """The response to the small duty alone, scaled to full heat and averaged over one cycle.

    What the full heat before it still does is taken off as the fit has it. Times [s] from the beginning of
    the small duty, rise [K], each shape (n,).
    """
    begun_s = procedure.small_from_ms / 1000.0
    row = int(np.searchsorted(record.time_s, begun_s))
    rows = len(record.time_s) - row
    every_s = procedure.every_ms / 1000.0
    width = max(1, round(procedure.cycle_ms / procedure.every_ms))
    if rows < 4 * width:
        raise ValueError("the small duty lasted less than four cycles.")
    changes_s, heat = record.changes
    earlier = changes_s < begun_s
    old = driven_response(
        record.time_s, np.append(changes_s[earlier], begun_s), np.append(heat[earlier], 0.0),
        fit.slope, fit.loss, fit.dead_s,
    )  # fmt: skip
    rise = record.temperature - fit.start - old
    rise = np.interp(record.time_s, record.time_s[np.isfinite(rise)], rise[np.isfinite(rise)])
    share = float(record.heat[row : row + rows // width * width].mean())
    if share <= 0.0:
        raise ValueError("no heat flowed at the small duty.")
    sums = np.concatenate([[0.0], np.cumsum(rise)])
    half = width // 2
    low = np.maximum(np.arange(row, len(rise)) - half, 0)
    high = np.minimum(low + width, len(rise))
    averaged = (sums[high] - sums[low]) / (high - low)
    last = len(averaged) - half
    times = record.time_s[row : row + last] - begun_s + (width - 1 - 2 * half) / 2.0 * every_s
    return times, averaged[:last] / share
