"""Dead time and time constant from areas under and over a step response, which noise hardly touches.

    A0 = integral of (K - y) over all time         L + T = A0 / K
    A1 = integral of y from 0 to L + T             T = e A1 / K

Exact for first order with dead time. Source: Astrom and Hagglund 1995, PID Controllers: Theory, Design, and
Tuning, 2nd ed., section 2.4 (attribution from memory).
"""

from __future__ import annotations

from math import e

import numpy as np

from harness.calibration.process import FirstOrder
from harness.calibration.record import Array

SOURCE = "Astrom and Hagglund 1995"


def area(time_s: Array, rise: Array, final: float, rest: float = 0.0) -> FirstOrder:
    """First order with dead time by two areas.

    Parameters
    ----------
    time_s, rise : shape (n,); the response to a step of full heat at 0. [s], [K]
    final : K, where it ends. [K]
    rest : what A0 gathers after the last reading, where the response is not over by then. [K s]

    Raises
    ------
    ValueError
        If the areas leave no time constant.
    """
    residence_s = (float(np.trapezoid(final - rise, time_s)) + rest) / final
    within = time_s <= residence_s
    until = np.append(time_s[within], residence_s)
    under = float(np.trapezoid(np.interp(until, time_s, rise), until))
    constant_s = e * under / final
    if not constant_s > 0.0:
        raise ValueError("the area under the response is not above 0: no time constant can be told.")
    return FirstOrder(final, max(0.0, residence_s - constant_s), constant_s)
