"""The ultimate point: the gain at which a process with dead time just keeps swinging, and how fast."""

from __future__ import annotations

from math import atan, inf, pi, sqrt

from harness.calibration.process import FirstOrder, Integrating, Process

BISECTIONS = 200


def shape(process: Process) -> tuple[float, float, float]:
    """Slope [K/s per unit duty], dead time [s], time constant [s] (infinite for an integrating one)."""
    if isinstance(process, Integrating):
        return process.slope, process.dead_time_s, inf
    return process.slope, process.dead_time_s, process.time_constant_s


def ultimate(process: Process) -> tuple[float, float]:
    """Ultimate gain [duty per K] and period [s], exact for the model.

    The root of atan(w T) + w L = pi, where the process turns by half a circle; its gain there is 1 / Ku.

    Raises
    ------
    ValueError
        Without dead time no gain makes the loop swing.

    Examples
    --------
    >>> tuple(round(x, 4) for x in ultimate(FirstOrder(1.0, 1.0, 10.0)))
    (16.3506, 3.85)
    """
    slope, dead_s, constant_s = shape(process)
    if dead_s == 0.0:
        raise ValueError("dead_time_s = 0 has no ultimate gain. Give the dead time of the process.")
    # The turn grows with w, is below pi at pi / 2L and at least pi at pi / L.
    low, high = pi / 2.0 / dead_s, pi / dead_s
    for _ in range(BISECTIONS):
        middle = (low + high) / 2.0
        turn = (atan(middle * constant_s) if constant_s < inf else pi / 2.0) + middle * dead_s
        low, high = (middle, high) if turn < pi else (low, middle)
    return sqrt(1.0 / constant_s**2 + low**2) / slope, 2.0 * pi / low


__all__ = ["FirstOrder", "shape", "ultimate"]
