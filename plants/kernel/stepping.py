"""Exact stepping of the linear part, second order for the rest.

With x' = A x + B r, r constant or linear in time over a step of h seconds, the step is exact:

    a       = E x + Q1 r0                 E = exp(Ah), Q1 = h phi1(Ah) B
    x(t+h)  = a + Q2 (r1 - r0)            Q2 = h phi2(Ah) B

(ETDRK2 of Cox and Matthews 2002, J. Comput. Phys. 176:430-455). The delays are known at both ends of the
step, so r is exact for them; the rates at the end are computed from the predicted states a and serve as r0 of
the next step too (predict, evaluate, correct), which keeps the second order and halves the evaluations. All
matrices of one mode and step length come from one exponential (Van Loan 1978, IEEE Trans. Autom. Control
23:395-404) and are kept.

The stacked vector is [states | inputs | driven at the start | driven at the end], driven = rates and delays.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf

import numpy as np

from plants.kernel.compiled import Names, function
from plants.kernel.network import Network

_MODES_KEPT = 64
_LENGTHS_KEPT = 256

Pair = tuple[Callable[[np.ndarray, np.ndarray], object], Callable[[np.ndarray, np.ndarray], object]]


def phi_matrices(f: np.ndarray, states: int, seconds: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """E, Q1 and Q2 for a step, from F = [A B]."""
    from scipy.linalg import expm  # 0.2 s to import: only once something moves

    driven = f.shape[1] - states
    whole = np.zeros((states + 2 * driven, states + 2 * driven))
    whole[:states, : states + driven] = f * seconds
    whole[states : states + driven, states + driven :] = np.eye(driven)
    top = expm(whole)[:states]
    return top[:, :states], top[:, states : states + driven], top[:, states + driven :]


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
        self._hi = self.z[net.width :]
        self._needed = [slot.index for rates in net.rates for slot in rates.arguments]
        self._predicted = np.zeros(len(self._needed))
        self._next = np.zeros(self._states)
        self._modes: dict[tuple[float, ...], dict[int, Pair]] = {}
        self._pairs: dict[int, Pair] = {}
        self._drive, self._record = self._compile()
        self.now: list[float] = self.z.tolist()

    def _compile(self) -> tuple[Callable[..., list[float]], Callable[[list[float]], None]]:
        names, lines, results, at = Names(), [], [], 0
        for rates in self.net.rates:
            made = [f"r{slot.index}" for slot in rates.slots]
            given = ", ".join(f"p[{at + i}]" for i in range(len(rates.arguments)))
            lines.append(f"{', '.join(made)} = {names.of(rates.function)}({given})")
            at += len(rates.arguments)
            results += made
        moves = [f"{names.of(delay)}.move(s)" for delay in self.net.delays]
        drive = function("p, s", [*lines, f"return [{', '.join(results + moves)}]"], names)
        notes = [f"if {names.of(d)}.rate: {names.of(d)}.record({d.change_text()})" for d in self.net.delays]
        return drive, function("x", notes or ["pass"], names)

    def set(self, index: int, value: float) -> None:
        """Change a state or an input between steps; `settle` must follow."""
        self.z[index] = value
        self.now[index] = value

    def step(self, ms: int) -> None:
        """Carry everything on by `ms`, at most `longest_step_ms`."""
        pair = self._pairs.get(ms)
        if pair is None:
            pair = self._pair(ms)
        z, predicted = self.z, self._predicted
        pair[0](self._first, predicted)
        self._hi[:] = self._drive(predicted.tolist(), ms * 0.001)
        pair[1](z, self._next)
        self._x[:] = self._next
        self._lo[:] = self._hi
        self.now = now = z.tolist()
        self._record(now)

    def _pair(self, ms: int) -> Pair:
        states, inputs = self._states, self._inputs
        e, q1, q2 = phi_matrices(self.net.matrix(), states, ms * 0.001)
        q2 = q2[:, inputs:]
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
        self.now = self.z.tolist()
        key = net.mode()
        if key not in self._modes and len(self._modes) >= _MODES_KEPT:
            self._modes.clear()
        self._pairs = self._modes.setdefault(key, {})
        self._lo[:] = self.rates_now()
        self.now = self.z.tolist()
        for delay, flow_changed in zip(net.delays, changed, strict=True):
            delay.mark(eval(delay.change_text(), {"x": self.now}), flow_changed, late_s)

    def restore(self, z: np.ndarray) -> None:
        """Go back to a saved stacked vector; flows and frozen capacities are already restored."""
        self.z[:] = z
        self.now = self.z.tolist()
        self._pairs = self._modes.setdefault(self.net.mode(), {})

    def longest_step_ms(self, cap_ms: int) -> int:
        """No step may be longer than what is still on its way through the shortest pipe."""
        shortest_s = min((delay.longest_step_s() for delay in self.net.delays), default=inf)
        return max(1, int(min(cap_ms, shortest_s * 1000.0)))
