"""How much a loop bears: largest sensitivity, gain margin, phase margin.

L(jw) = C(jw) G(jw), the controller in the ideal form with its derivative filtered at Td / 10.
Ms = max |1 / (1 + L)|: the smallest distance of L from -1 is 1 / Ms. Definitions: Astrom and Murray, Feedback
Systems (2008), section 9.3 (recalled).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from harness.calibration.process import Process
from harness.calibration.tuning.settings import FILTER_SHARE, Settings
from harness.calibration.tuning.ultimate import shape

POINTS = 4_000
ROUNDS = 4
HALVINGS = 60


@dataclass(frozen=True)
class Margins:
    """What a loop bears; all zero sensitivity and margins where the loop is `stable` no more.

    Attributes
    ----------
    stable : whether the closed loop is.
    sensitivity : Ms; 1 or more. [-]
    gain : how many times the process's gain may be larger; infinite where nothing turns by half a circle. [-]
    phase_deg : how much later the process may turn, at the frequency where |L| is 1. [deg]
    """

    stable: bool
    sensitivity: float
    gain: float
    phase_deg: float


def margins(process: Process, settings: Settings) -> Margins:
    """The margins of the loop of `process` and `settings`."""
    _, dead_s, constant_s = shape(process)
    scale = dead_s or min(constant_s, settings.integral_s)
    w = np.geomspace(1e-5, 1e3, POINTS) / scale
    size, turn = _open_loop(process, settings, w)
    at_half_turns = _crossings(process, settings, w, turn)
    gain = float(1.0 / at_half_turns.max()) if len(at_half_turns) else float("inf")
    if gain <= 1.0:
        return Margins(False, float("inf"), gain, 0.0)
    return Margins(True, _sensitivity(process, settings, w), gain, _phase_deg(w, size, turn))


def _open_loop(
    process: Process, settings: Settings, w: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Size and (unwrapped) phase [rad] of L at the frequencies w [rad/s]."""
    slope, dead_s, constant_s = shape(process)
    s = 1j * w
    lead = settings.derivative_s * s / (1.0 + settings.derivative_s / FILTER_SHARE * s)
    control = settings.gain * (1.0 + 1.0 / (settings.integral_s * s) + lead)
    lag = 1.0 / (s + 1.0 / constant_s)
    size = np.abs(control * slope * lag)
    # Each factor's phase is inside (-pi, pi), so only the dead time needs no unwrapping at all.
    turn = np.angle(control * np.sign(settings.gain)) + np.angle(lag) - w * dead_s
    return size, turn


def _crossings(
    process: Process, settings: Settings, w: NDArray[np.float64], turn: NDArray[np.float64]
) -> NDArray[np.float64]:
    """|L| wherever its phase passes -pi, -3 pi, ...: the loop is stable if each is below 1.

    So for a stable or integrating L whose phase begins above -pi, by the criterion of Nyquist.
    """
    laps = np.floor((turn - np.pi) / (2.0 * np.pi))
    at = np.flatnonzero(np.diff(laps))
    level = np.pi + 2.0 * np.pi * np.maximum(laps[at], laps[at + 1])
    low, high, falls = w[at], w[at + 1], turn[at] > turn[at + 1]
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        before = (_open_loop(process, settings, middle)[1] > level) == falls
        low, high = np.where(before, middle, low), np.where(before, high, middle)
    return _open_loop(process, settings, low)[0]


def _sensitivity(process: Process, settings: Settings, w: NDArray[np.float64]) -> float:
    for _ in range(ROUNDS):
        size, turn = _open_loop(process, settings, w)
        distance = np.abs(1.0 + size * np.exp(1j * turn))
        at = int(np.argmin(distance))
        w = np.linspace(w[max(at - 1, 0)], w[min(at + 1, len(w) - 1)], 101)
    return float(1.0 / distance.min())


def _phase_deg(w: NDArray[np.float64], size: NDArray[np.float64], turn: NDArray[np.float64]) -> float:
    """The smallest turn left where |L| passes 1."""
    passes = np.flatnonzero(np.diff(np.sign(size - 1.0)))
    if not len(passes):
        return float("inf")
    share = (1.0 - size[passes]) / (size[passes + 1] - size[passes])
    return float(np.degrees(np.min(np.pi + turn[passes] + share * (turn[passes + 1] - turn[passes]))))
