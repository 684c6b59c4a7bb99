"""Dead time and slope by the steepest tangent.

The tangent through the steepest point of a step response meets the temperature before the step after the
dead time L; its slope is the steepest rise R for the step. With a final rise K the time constant is K / R.
Source: Ziegler and Nichols 1942, Optimum settings for automatic controllers, Trans. ASME 64:759-768.
"""

from __future__ import annotations

import numpy as np

from harness.calibration.process import Integrating
from harness.calibration.record import Array

SOURCE = "Ziegler and Nichols 1942"


def tangent(time_s: Array, rise: Array, window_s: float = 0.0) -> Integrating:
    """Slope and dead time of the steepest tangent.

    Parameters
    ----------
    time_s : shape (n,), equally spaced, 0 where the step begins. [s]
    rise : shape (n,); for a step of full heat. [K]
    window_s : readings over which a slope is taken, by a parabola; 0: three. Noise wants more. [s]

    Raises
    ------
    ValueError
        If there are fewer than three readings, or the temperature never rises.
    """
    from scipy.signal import savgol_filter

    if len(time_s) < 3:
        raise ValueError(f"{len(time_s)} readings: a tangent needs three at least.")
    every_s = float(time_s[1] - time_s[0])
    width = max(3, 2 * round(window_s / every_s / 2.0) + 1)
    width = min(width, len(rise) - 1 + len(rise) % 2)
    slopes = savgol_filter(rise, width, 2, deriv=1, delta=every_s)
    smooth = savgol_filter(rise, width, 2)
    steepest = int(np.argmax(slopes))
    slope = float(slopes[steepest])
    if slope <= 0.0:
        raise ValueError("the temperature never rises: there is no tangent.")
    dead_s = float(time_s[steepest] - smooth[steepest] / slope)
    return Integrating(slope, max(0.0, dead_s))
