"""Exact stepping of the linear part, second order for the rest.

With x' = A x + B r, r constant or linear in time over a step of h seconds, the step is exact:

    a       = E x + Q1 r0                 E = exp(Ah), Q1 = h phi1(Ah) B
    x(t+h)  = a + Q2 (r1 - r0)            Q2 = h phi2(Ah) B

(ETDRK2 of Cox and Matthews 2002, J. Comput. Phys. 176:430-455). The delays are known at both ends of the
step, so r is exact for them; the rates at the end are computed from the predicted states a and serve as r0 of
the next step too (predict, evaluate, correct), which keeps the second order and halves the evaluations. The
matrices of a mode and step length are kept.

The stacked vector is [states | inputs | driven at the start | driven at the end], driven = rates and delays.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import ceil, factorial, inf, log2
from struct import Struct

import numpy as np

from plants.kernel.compiled import Names, function
from plants.kernel.network import Network

_MODES_KEPT = 64
_LENGTHS_KEPT = 256

_Product = Callable[[np.ndarray, np.ndarray], object]
Pair = tuple[_Product, _Product]


_NOTHING = 1e-100
"""A rate below this counts as none: the scaling would leave the range of the numbers."""
_SMALL = 0.5
_TERMS = 13
"""The series of phi2 to this power leaves out less than 1e-17 where |Ah| is at most `_SMALL`."""


def rate_bound(a: np.ndarray) -> float:
    """Largest row sum of |A| [1/s] once rows and columns are scaled to like size.

    Joules beside kelvins make the plain norm useless. Scaling by powers of two as Osborne 1960
    (J. ACM 7:338-345).
    """
    size = np.abs(a)
    size[size < _NOTHING] = 0.0
    for _ in range(8):
        off = size - np.diag(np.diag(size))
        rows, columns = off.sum(axis=1), off.sum(axis=0)
        used = (rows > 0.0) & (columns > 0.0)
        scale = np.where(columns > 0.0, 1.0, 2.0**40)
        scale[used] = 2.0 ** np.round(0.25 * np.log2(rows[used] / columns[used]))
        size = size / scale[:, None] * scale[None, :]
    return float(size.sum(axis=1).max())


def phi_matrices(a: np.ndarray, bound: float, seconds: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """exp(Ah), phi1(Ah) and phi2(Ah) for a step of h `seconds`; `bound` is `rate_bound(a)`.

    Series of phi2 for a part of the step, then doubling: phi2(2z) = (phi1(z)^2 + 2 phi2(z)) / 4,
    phi1(2z) = (exp(z) + 1) phi1(z) / 2 (Skaflestad and Wright 2009, Appl. Numer. Math. 59:783-799).
    """
    doublings = max(0, ceil(log2(max(bound * seconds, 1e-300) / _SMALL)))
    one, ah = np.eye(len(a)), a * (seconds / 2.0**doublings)
    phi2 = one / factorial(_TERMS + 2)
    for power in range(_TERMS - 1, -1, -1):
        phi2 = ah @ phi2
        phi2.flat[:: len(a) + 1] += 1.0 / factorial(power + 2)
    phi1 = ah @ phi2 + one
    e = ah @ phi1 + one
    for _ in range(doublings):
        phi2 = (phi1 @ phi1 + 2.0 * phi2) * 0.25
        phi1 = (e + one) @ phi1 * 0.5
        e = e @ e
    return e, phi1, phi2


@dataclass
class _Mode:
    """What is known of one operating mode: F, the bound of its rates, the matrices by step length."""

    f: np.ndarray
    bound: float
    pairs: dict[int, Pair] = field(default_factory=dict)


class Stepper:
    """Holds the stacked vector of a closed network and carries it through time."""

    def __init__(self, net: Network) -> None:
        net.close()
        self.net = net
        self._states, self._inputs = len(net.states), len(net.inputs)
        self._driven = net.width - self._states - self._inputs
        self.z = np.zeros(net.width + self._driven)
        self.z[: net.width - self._driven] = [s for _, s, _ in net.states] + [v for _, v in net.inputs]
        self._x = self.z[: self._states]
        self._first = self.z[: net.width]
        self._lo = self.z[net.width - self._driven : net.width]
        self._needed = [slot.index for rates in net.rates for slot in rates.arguments]
        self._predicted = np.zeros(len(self._needed))
        self._next = np.zeros(self._states)
        self._modes: dict[tuple[float, ...], _Mode] = {}
        self._mode = self._known_mode()
        self._pairs = self._mode.pairs
        self._carry = self._compile()
        self._changes = [function("x", [f"return {delay.change_text()}"], Names()) for delay in net.delays]
        self.now: list[float] = self._first.tolist()

    def _compile(self) -> Callable[[_Product, _Product, float], None]:
        """One step as one flat function, since it runs at every exchange.

        What is driven is packed into the stacked vector: numpy takes five times as long for ten numbers.
        """
        names, results, at = Names(), [], 0
        me, z, predicted, next_, x = (
            names.of(one) for one in (self, self.z, self._predicted, self._next, self._x)
        )
        pack = names.of(Struct(f"{self._driven}d").pack_into)
        raw = names.of(memoryview(self.z.data).cast("B"))
        hi = 8 * self.net.width
        lo = hi - 8 * self._driven
        lines = [f"predict({names.of(self._first)}, {predicted})", f"p = {predicted}.tolist()"]
        for rates in self.net.rates:
            made = [f"r{slot.index}" for slot in rates.slots]
            given = ", ".join(f"p[{at + i}]" for i in range(len(rates.arguments)))
            lines.append(f"{', '.join(made)}, = {names.of(rates.function)}({given})")
            at += len(rates.arguments)
            results += made
        for delay in self.net.delays:
            lines += delay.move_lines(names.of(delay), f"r{delay.slot.index}")
            results.append(f"r{delay.slot.index}")
        driven = "".join(f", {result}" for result in results)
        lines += [f"{pack}({raw}, {hi}{driven})", f"whole({z}, {next_})", f"{x}[:] = {next_}"]
        lines += [f"{pack}({raw}, {lo}{driven})", f"{me}.now = x = {names.of(self._first)}.tolist()"]
        for delay in self.net.delays:
            lines += delay.record_lines(names.of(delay))
        return function("predict, whole, s", lines, names)

    def set(self, index: int, value: float) -> None:
        """Change a state or an input between steps; `settle` must follow."""
        self.z[index] = value
        self.now[index] = value

    def step(self, ms: int) -> None:
        """Carry everything on by `ms`, at most `longest_step_ms`."""
        pair = self._pairs.get(ms)
        if pair is None:
            pair = self._pair(ms)
        self._carry(pair[0], pair[1], ms * 0.001)

    def _known_mode(self) -> _Mode:
        key = self.net.mode()
        mode = self._modes.get(key)
        if mode is None:
            if len(self._modes) >= _MODES_KEPT:
                self._modes.clear()
            f = self.net.matrix()
            mode = self._modes[key] = _Mode(f, rate_bound(f[:, : self._states]))
        return mode

    def _pair(self, ms: int) -> Pair:
        states, inputs = self._states, self._inputs
        e, phi1, phi2 = phi_matrices(self._mode.f[:, :states], self._mode.bound, ms * 0.001)
        q1, q2 = phi1 @ self._mode.f[:, states:] * (ms * 0.001), phi2 @ self._mode.f[:, states + inputs :]
        q2 *= ms * 0.001
        predict = np.ascontiguousarray(np.hstack([e, q1])[self._needed])
        whole = np.hstack([e, q1[:, :inputs], q1[:, inputs:] - q2, q2])
        pair = (predict.dot, np.ascontiguousarray(whole).dot)
        if len(self._pairs) >= _LENGTHS_KEPT:
            self._pairs.clear()
        self._pairs[ms] = pair
        return pair

    def rates_now(self) -> list[float]:
        """The rates and delays that belong to the present state."""
        x = self.now
        values = [
            v for rates in self.net.rates for v in rates.function(*(x[a.index] for a in rates.arguments))
        ]
        return values + [delay.move(0.0) for delay in self.net.delays]

    def _cross(self) -> float:
        """Pass breaks that reach an outlet before the next millisecond; how soon the latest does [s]."""
        latest = 0.0
        for delay in self.net.delays:
            late_s, error = delay.cross()
            latest = max(latest, late_s)
            for transfer in self.net.transfers if error else ():
                if transfer.level is delay.outlet.level:
                    amount = error * (transfer.gain() if callable(transfer.gain) else transfer.gain)
                    for slot, sign in ((transfer.into, 1.0), (transfer.out_of, -1.0)):
                        if slot is not None:
                            self.z[slot.index] += sign * amount
        return latest

    def settle(self) -> None:
        """Take over what an event has changed: flows, inputs, capacities."""
        net = self.net
        late_s = self._cross()
        changed = []
        for delay in net.delays:
            flow_changed, jump = delay.settle()
            self.z[delay.theta.index] += jump
            changed.append(flow_changed)
        self.now = self._first.tolist()
        self._mode = self._known_mode()
        self._pairs = self._mode.pairs
        self._lo[:] = self.rates_now()
        self.now = self._first.tolist()
        for delay, change, flow_changed in zip(net.delays, self._changes, changed, strict=True):
            delay.mark(change(self.now), flow_changed, late_s)

    def restore(self, z: np.ndarray) -> None:
        """Go back to a saved stacked vector; flows and frozen capacities are already restored."""
        self.z[:] = z
        self.now = self._first.tolist()
        self._mode = self._known_mode()
        self._pairs = self._mode.pairs

    def longest_step_ms(self, cap_ms: int) -> int:
        """No step may be longer than what is still on its way through the shortest pipe."""
        shortest_s = min((delay.longest_step_s() for delay in self.net.delays), default=inf)
        return max(1, int(min(cap_ms, shortest_s * 1000.0)))
