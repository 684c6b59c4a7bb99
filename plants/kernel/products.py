"""The matrices of one operating mode and, for each step length, the products that make up a step.

The stacked vector of the network is [states | inputs | driven], driven = rates and delays. A step reads it
with the driven scalars at both ends, [states | inputs | driven at the start | driven at the end], and gives
the states at the end and the *tail*: what the rates of a next step of the same length are computed from, and
what enters the pipes now. `there` does so in that order; `back` reads the states last, finds the driven
scalars of start and end the other way round, and gives the tail first (see stepping.py).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from plants.kernel.exponential import phi_matrices, rate_bound
from plants.kernel.network import Network

_LENGTHS_KEPT = 128
_AHEAD_S, _FAST = 0.25, 0.35
"""How far ahead, unless the fastest rate would do more than this by then."""


@dataclass(frozen=True)
class Length:
    """The products of one step length.

    Attributes
    ----------
    there, back : functions (read, written)
    predict : what rates need of the states at the end of a first step, from the stacked vector, with all that
        drives held.
    correct : what a change of the rates over the step adds to that.
    """

    seconds: float
    there: Callable[[np.ndarray, np.ndarray], object]
    back: Callable[[np.ndarray, np.ndarray], object]
    predict: Callable[[np.ndarray], np.ndarray]
    correct: Callable[[np.ndarray], np.ndarray]


class Mode:
    """One operating mode.

    Attributes
    ----------
    f : the rate of change is F z. Shape (states, width).
    warming : K/s that one unit of each rate gives to each state. Shape (states, rates).
    ahead_s : how far ahead rates are looked at to see how they bend; twice as far, too.
    """

    def __init__(self, net: Network) -> None:
        self.f = net.matrix()
        self._states, self._inputs, self._width = len(net.states), len(net.inputs), net.width
        self._driven = net.width - self._states - self._inputs
        self._rates = self._driven - len(net.delays)
        self._bound = rate_bound(self.f[:, : self._states], net.units())
        self._needed = net.needed()
        self._entering = np.zeros((len(net.delays), net.width))
        for row, delay in zip(self._entering, net.delays, strict=True):
            for slot, factor in delay.change_terms():
                row[slot.index] += factor
        first = self._states + self._inputs
        kelvins = np.array([net.kelvins(slot, kind) for slot, _, kind in net.states])
        self.warming = kelvins[:, None] * self.f[:, first : first + self._rates]
        self.ahead_s = min(_AHEAD_S, _FAST / max(self._bound, 1e-9))
        self._look: np.ndarray | None = None
        self._lengths: dict[int, Length] = {}

    def ahead(self, z: np.ndarray) -> tuple[list[float], list[float]]:
        """What rates need of the states in `ahead_s` and in twice that, with all that drives held.

        To third order: as good as a look ahead must be, and no step length is made for it.
        """
        if self._look is None:
            a, h = self.f[:, : self._states], self.ahead_s
            once = self.f[self._needed] * h
            twice = a[self._needed] * (h * h / 2.0) @ self.f
            thrice = a[self._needed] @ a * (h**3 / 6.0) @ self.f
            self._look = np.vstack([once + twice + thrice, 2.0 * once + 4.0 * twice + 8.0 * thrice])
        count, now = len(self._needed), z[self._needed]
        moved = self._look.dot(z)
        return (now + moved[:count]).tolist(), (now + moved[count:]).tolist()

    def length(self, ms: int) -> Length:
        """The products of a step of `ms`, kept."""
        length = self._lengths.get(ms)
        if length is None:
            if len(self._lengths) >= _LENGTHS_KEPT:
                self._lengths.clear()
            length = self._lengths[ms] = self._made(ms * 0.001)
        return length

    def _made(self, seconds: float) -> Length:
        states, width, driven = self._states, self._width, self._driven
        first = states + self._inputs
        e, phi1, phi2 = phi_matrices(self.f[:, :states], self._bound, seconds)
        q1, q2 = phi1 @ self.f[:, states:] * seconds, phi2 @ self.f[:, first:] * seconds
        step = np.hstack([e, q1[:, : self._inputs], q1[:, self._inputs :] - q2, q2])
        predict, correct = np.hstack([e, q1])[self._needed], q2[self._needed]
        # The tail, over the end of the step: its states are `step`, its driven scalars the last columns.
        # The next rates are taken to change by as much as these.
        later = np.vstack([predict, self._entering])
        tail = later[:, :states] @ step
        tail[:, states:first] += later[:, states:first]
        tail[:, width:] += later[:, first:]
        tail[: len(correct), width:] += correct
        tail[: len(correct), first:width] -= correct
        turned = [*range(states, first), *range(width, width + driven), *range(first, width), *range(states)]
        back = np.ascontiguousarray(np.vstack([tail, step])[:, turned])
        return Length(
            seconds, np.vstack([step, tail]).dot, back.dot, predict.dot,
            np.ascontiguousarray(correct[:, : self._rates]).dot,
        )  # fmt: skip
