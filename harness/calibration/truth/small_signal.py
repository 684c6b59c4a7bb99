"""A plant around an operating point, from heat to a probe: its response and its lags."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from harness.calibration.record import Array
from harness.calibration.rig import Rig
from plants import Plant
from plants.kernel.linear import heat_steps, linearise

CELLS = 8
_STEADY_MS = 60_000
_MOVING = ("heat", "follower", "cell")
"""Water and gas count as constant: what evaporates in a test changes the heat capacity by a thousandth."""
_NOT_SLOWER_S = 1e7


@dataclass(frozen=True)
class SmallSignal:
    """x' = a x + b u, y = c x; u is the share of the full heat, y what the probe reads. [K]

    Attributes
    ----------
    a, b, c : shapes (n, n), (n,), (n,); only states on a way from the heat to the probe.
    """

    a: Array
    b: Array
    c: Array

    @property
    def gain(self) -> float:
        """The rise that full heat would end in, were the plant as linear as here. [K]"""
        return float(-self.c @ np.linalg.solve(self.a, self.b))

    def response(self, heat: Array, every_s: float) -> Array:
        """The rise at the beginning of each of n equal spans, for the heat of each span, shape (n,). [K]"""
        from scipy.linalg import expm
        from scipy.signal import fftconvolve

        n = len(self.b)
        block = np.zeros((n + 1, n + 1))
        block[:n, :n], block[:n, n] = self.a, self.b
        held = expm(block * every_s)
        move, push = held[:n, :n], held[:n, n]
        pulse = np.empty(len(heat))  # of one span of full heat
        x = push
        for row in range(len(heat)):
            pulse[row] = self.c @ x
            x = move @ x
        return np.concatenate([[0.0], np.asarray(fftconvolve(heat, pulse))[: len(heat) - 1]])

    @cached_property
    def factors(self) -> tuple[tuple[float, ...], tuple[float, ...], float]:
        """Lags, numerator constants and dead time [s] of the transfer function, as the half rule wants them.

        Pairs of complex roots are fast ones here; each goes with its first-order part: of the denominator
        to the dead time, of the numerator off it.
        """
        from scipy.linalg import eig, eigvals, matrix_balance

        a, scale = matrix_balance(self.a)
        back = np.linalg.inv(scale)
        b, c = back @ self.b, self.c @ scale
        n = len(b)
        size = max(abs(b).max(), 1e-30), max(abs(c).max(), 1e-30)
        whole, mass = np.zeros((n + 1, n + 1)), np.zeros((n + 1, n + 1))
        whole[:n, :n], whole[:n, n], whole[n, :n] = a, b / size[0], c / size[1]
        mass[:n, :n] = np.eye(n)
        poles = eigvals(a)
        roots = eig(whole, mass, right=False)
        zeros = roots[np.isfinite(roots)]
        zeros = zeros[np.abs(zeros) < 1e3]
        lags, ringing = _constants(poles)
        numerators, lead = _constants(zeros)
        lags, numerators = _without_pairs(sorted(lags, reverse=True), sorted(numerators, reverse=True))
        return tuple(lags), tuple(numerators), ringing - lead


def _constants(roots: np.ndarray) -> tuple[list[float], float]:
    """Time constants -1 / root of the real roots, and the sum over the complex ones."""
    real = np.abs(roots.imag) <= 1e-9 * np.abs(roots)
    with np.errstate(divide="ignore"):
        alone = -1.0 / roots[real].real
    return [float(one) for one in alone], float((-1.0 / roots[~real]).real.sum())


def _without_pairs(lags: list[float], numerators: list[float]) -> tuple[list[float], list[float]]:
    """Without the lags that a numerator constant cancels to a part in a thousand."""
    kept = list(numerators)
    left = []
    for lag in lags:
        twin = next((one for one in kept if abs(one - lag) <= 1e-3 * lag), None)
        if twin is None:
            left.append(lag)
        else:
            kept.remove(twin)
    return left, kept


def small_signal(plant: Plant, rig: Rig, *, cells: int = CELLS) -> SmallSignal:
    """The plant as it stands, with heat from none to all as its input; it is left as it was.

    Raises
    ------
    ValueError
        If the actuator changes no source of heat at this state (a flame that does not light, a compressor).
    """
    names = [actuator.name for actuator in plant.actuators]
    off = [float(name in rig.always) for name in names]
    on = [float(name in {*rig.always, rig.heat, *rig.with_heat}) for name in names]
    steps = heat_steps(plant, off, on, _STEADY_MS)
    linear = linearise(plant, list(steps), [f"{rig.probe} sensor"], cells=cells)
    b = linear.b @ np.array(list(steps.values())) if steps else np.zeros(len(linear.states))
    moving = np.array([kind in _MOVING for kind in linear.kinds])
    keep = _between(linear.a * moving[:, None] * moving[None, :], b * moving, linear.c[0] * moving)
    if not keep.any():
        raise ValueError(
            f"{plant.name}: {rig.heat} changes no source of heat that reaches the {rig.probe} probe here; "
            "its truth cannot be worked out."
        )
    return SmallSignal(linear.a[np.ix_(keep, keep)], b[keep], linear.c[0][keep])


def _between(a: Array, b: Array, c: Array) -> np.ndarray:
    """Which states lie on a way from the input to the output, bool, shape (n,)."""
    reached, seen = b != 0.0, c != 0.0
    links = a != 0.0
    for _ in range(len(b)):
        reached = reached | (links @ reached)
        seen = seen | (links.T @ seen)
    return np.asarray(reached & seen)
