"""The closed loop of a model and a PID, in time: what a step of the set point and of the load do.

The model is exact from one instant to the next, the controller is computed at each, derivative on the
measurement and filtered at Td / 10. Nothing is limited: these are the figures of the linear loop, such as
textbooks state. What limits, a cycle time and a late burner make of it shows `rehearsal.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf, isfinite

import numpy as np
from numpy.typing import NDArray

from harness.calibration.process import FirstOrder, Process
from harness.calibration.tuning.settings import FILTER_SHARE, Settings
from harness.calibration.tuning.ultimate import shape

STEPS_A_DEAD_TIME = 40
MOST_STEPS = 15_000
DEAD_TIMES = 60.0
CONSTANTS = 5.0
BAND = 0.02
GONE = 1e6
"""A loop that has come so many times further than its step, or than full heat in a dead time, is gone."""


@dataclass(frozen=True)
class StepFigures:
    """What a loop does, each beside a step of 1 K of the set point or of full heat as a load.

    Attributes
    ----------
    overshoot : beyond the set point, as a share of the step. [-]
    settling_s : until it stays within 2 % of the step; infinite where it does not in the time simulated. [s]
    iae : integral of the absolute error after the set point's step of 1 K. [K s per K]
    load_iae : the same after a load of full heat; equals Ti / Kc where the error keeps its sign. [K s]
    """

    overshoot: float
    settling_s: float
    iae: float
    load_iae: float


def step_figures(process: Process, settings: Settings) -> StepFigures:
    """The figures of the loop; of one that grows without end all are infinite."""
    step_s, count = _grid(process, settings)
    follow = respond(process, settings, step_s, count, setpoint=1.0, load=0.0)
    resist = respond(process, settings, step_s, count, setpoint=0.0, load=1.0)
    if len(follow) < count or len(resist) < count:
        return StepFigures(inf, inf, inf, inf)
    error = 1.0 - follow
    outside = np.flatnonzero(np.abs(error) > BAND)
    settled_s = (outside[-1] + 1) * step_s if len(outside) and outside[-1] < count - 1 else inf
    return StepFigures(
        overshoot=max(0.0, float(follow.max()) - 1.0),
        settling_s=float(settled_s),
        iae=_whole(error, step_s, _integral_s(process, settings)),
        load_iae=_whole(resist, step_s, settings.integral_s / settings.gain),
    )


def _integral_s(process: Process, settings: Settings) -> float:
    """The integral of the error after a step of 1 K: it has to hold the duty that 1 K wants. [K s]"""
    return settings.integral_s / settings.gain / process.gain if isinstance(process, FirstOrder) else 0.0


def _whole(error: NDArray[np.float64], step_s: float, ends_s: float) -> float:
    """The integral of the absolute error to the end of time. [K s]

    Its integral with the sign, `ends_s`, is known; what the simulated time left of it is a tail that creeps
    home from one side.
    """
    simulated_s = float(np.abs(error).sum() * step_s)
    rest_s = abs(ends_s - float(error.sum() * step_s))
    return simulated_s + rest_s if isfinite(rest_s) else simulated_s


def _grid(process: Process, settings: Settings) -> tuple[float, int]:
    """Length of a step [s] and how many: as fine as the dead time asks, as long as the slowest part."""
    _, dead_s, constant_s = shape(process)
    slowest_s = CONSTANTS * min(max(settings.integral_s, dead_s), 4.0 * constant_s, 200.0 * dead_s)
    horizon_s = max(DEAD_TIMES * dead_s, slowest_s)
    late = max(1, int(min(STEPS_A_DEAD_TIME, MOST_STEPS * dead_s / horizon_s)))
    # A duty that is held for a step is late by half a step: counted to the dead time (Astrom, Wittenmark,
    # Computer-Controlled Systems, recalled), which makes the grid second order.
    step_s = dead_s / (late + 0.5)
    return step_s, int(horizon_s / step_s)


def respond(
    process: Process, settings: Settings, step_s: float, count: int, *, setpoint: float, load: float
) -> NDArray[np.float64]:
    """The temperature at `count` instants; shorter where it has gone beyond all bounds. [K]

    Parameters
    ----------
    process, settings : the loop.
    step_s : between two instants; the dead time is taken as a whole number of them, rounded down. [s]
    count : how many.
    setpoint : from time 0 on. [K]
    load : heat from elsewhere, from time 0 on, as a share of full heat. [-]
    """
    slope, dead_s, constant_s = shape(process)
    keep = exp(-step_s / constant_s)
    push = slope * (constant_s * (1.0 - keep) if constant_s < inf else step_s)
    late = max(1, int(dead_s / step_s + 1e-9))
    gone = GONE * max(1.0, abs(slope) * dead_s)
    duties = [0.0] * late
    kc, per_s = settings.gain, 1.0 / settings.integral_s
    td = settings.derivative_s
    follow = step_s / (td / FILTER_SHARE + step_s)
    y = integral = filtered = 0.0
    out = []
    for n in range(count):
        out.append(y)
        if not -gone < y < gone:
            break
        error = setpoint - y
        last = filtered
        filtered += follow * (y - filtered)
        duty = kc * (error + per_s * integral - td * (filtered - last) / step_s)
        integral += error * step_s
        at = n % late
        applied, duties[at] = duties[at], duty
        y = keep * y + push * (applied + load)
    return np.array(out)
