"""What a record does that a fit takes no account of: a start that moves, a process of another kind."""

from __future__ import annotations

import numpy as np

from harness.calibration.identify.told import Told
from harness.calibration.record import HeatRecord

DRIFT_SIGMAS = 5.0
DRIFT_K_PER_H = 0.5
LEAST_READINGS = 10
MISFIT = 0.03
"""Of the record's span."""


def drift(record: HeatRecord) -> list[str]:
    """A start that still moved when the heat came."""
    heated = np.flatnonzero(record.heat > 0.0)
    first = int(heated[0]) + 1 if len(heated) else 0  # the row at which the heat comes is still of the start
    time_s, reading = record.time_s[:first], record.temperature[:first]
    seen = np.isfinite(reading)
    if seen.sum() < LEAST_READINGS:
        return []
    time_s, reading = time_s[seen], reading[seen]
    line, covariance = np.polyfit(time_s, reading, 1, cov="unscaled")
    left = reading - np.polyval(line, time_s)
    sigma = float(np.sqrt(covariance[0, 0]) * max(left.std(), 1e-4))
    per_hour = float(line[0] * 3600.0)
    if abs(line[0]) < DRIFT_SIGMAS * sigma or abs(per_hour) < DRIFT_K_PER_H:
        return []
    return [
        f"the reading drifted by {per_hour:+.2g} K/h before the heat came; the figures take it as standing, "
        "and are off by more than their intervals. Let it settle longer, or start at the room's temperature."
    ]


def misfit(found: Told, record: HeatRecord) -> list[str]:
    """A process that first order with dead time describes badly."""
    span = float(np.nanmax(record.temperature) - np.nanmin(record.temperature))
    seen = np.isfinite(record.temperature)
    left = (record.temperature - found.fit.predicted)[seen]
    rows = max(1, len(left) // 200)
    slow = left[: len(left) // rows * rows].reshape(-1, rows).mean(axis=1)
    off = float(np.abs(slow).max())
    if not off > MISFIT * span:
        return []
    kind = "first order with dead time" if found.first_order else "an integrating process with dead time"
    return [f"{kind} describes this record within {off:.2g} K only, of a rise of {span:.3g} K."]
