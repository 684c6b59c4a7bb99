"""Dead time and time constant from when a step response passes 28.3 and 63.2 % of its final rise.

    T = 1.5 (t63 - t28),  L = t63 - T

Source: Smith 1972, Digital Computer Process Control, Intext (attribution from memory).
"""

from __future__ import annotations

import numpy as np

from harness.calibration.process import FirstOrder
from harness.calibration.record import Array

SOURCE = "Smith 1972"
LOWER, UPPER = 0.283, 0.632


def two_point(time_s: Array, rise: Array, final: float) -> FirstOrder:
    """First order with dead time through two points.

    Parameters
    ----------
    time_s, rise : shape (n,); the response to a step of full heat at 0, without noise or smoothed. [s], [K]
    final : where it ends. [K]

    Raises
    ------
    ValueError
        If the response does not reach 63.2 % of `final`, or passes both shares at once.
    """
    lower_s, upper_s = (passes(time_s, rise, share * final) for share in (LOWER, UPPER))
    constant_s = 1.5 * (upper_s - lower_s)
    if constant_s <= 0.0:
        raise ValueError("28.3 and 63.2 % are passed at once: no time constant can be told.")
    return FirstOrder(final, max(0.0, upper_s - constant_s), constant_s)


def passes(time_s: Array, rise: Array, level: float) -> float:
    """When the rise first reaches `level`, between two readings in proportion. [s]

    Raises
    ------
    ValueError
        If it never does.
    """
    there = np.flatnonzero(rise >= level if level > 0.0 else rise <= level)
    if not len(there):
        raise ValueError(f"the response ends before {level:.3g} K.")
    row = int(there[0])
    if row == 0:
        return float(time_s[0])
    before, after = float(rise[row - 1]), float(rise[row])
    part = (level - before) / (after - before)
    return float(time_s[row - 1] + part * (time_s[row] - time_s[row - 1]))
