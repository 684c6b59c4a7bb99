"""Exact stepping of the linear part, second order for the rest.

With x' = A x + B r, r constant or linear in time over a step of h seconds, the step is exact:

    x(t+h) = E x + Q1 r0 + Q2 (r1 - r0)      E = exp(Ah), Q1 = h phi1(Ah) B, Q2 = h phi2(Ah) B

(the exponential trapezoidal rule; see ETDRK2 of Cox and Matthews 2002, J. Comput. Phys. 176:430-455). The
delays are known at both ends of the step, so r is exact for them. The rates at the end are computed from
states predicted with the same formula, r taken to change as it did over the step before, and serve as r0 of
the next step too (predict, evaluate, correct): one evaluation a step. What is left is h^3 r'' / 12.

One product a step gives the states and the tail (see products.py). A product cannot write where it reads, so
the states change sides at each step, and what drives them lies between, the two ends of a step in turn:

    [ tail | states | inputs | driven | driven | states | tail ]
             `------- read, there -----------'  `-- written --'
    `-- written --'  `------- read, back ------------'
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from struct import Struct

import numpy as np

from plants.kernel.compiled import Names, function
from plants.kernel.network import Network
from plants.kernel.products import Length, Mode

_MODES_KEPT = 64
_LEFT, _RIGHT = 0, 1
_NO_JUMP = 1e-6
"""Rates that are off by so little need no new beginning [K/s]."""


class Stepper:
    """Holds the stacked vector of a closed network and carries it through time.

    Attributes
    ----------
    ahead_ms : a next step of this length is prepared; 0 if none is.
    carry, length : such a step is `carry(length)`.
    """

    def __init__(self, net: Network) -> None:
        net.close()
        self.net = net
        self._states, self._inputs = len(net.states), len(net.inputs)
        self._driven = net.width - self._states - self._inputs
        self._rates = self._driven - len(net.delays)
        self._needed = net.needed()
        self._tails = tail = len(self._needed) + len(net.delays)
        self._buffer = np.zeros(2 * (tail + net.width) - self._inputs)
        self._first = self._buffer[tail : tail + net.width]
        self._first[: -self._driven or None] = [v for _, v, _ in net.states] + [v for _, v in net.inputs]
        self._start = self._first[net.width - self._driven :]
        self._middle = self._buffer[tail + self._states : tail + net.width + self._driven]
        self._right = self._buffer[tail + net.width + self._driven :][: self._states]
        self._tail: tuple[float, ...] = ()
        self._side, self.ahead_ms = _LEFT, 0
        self._now: list[float] | None = None
        self._modes: dict[tuple[float, ...], Mode] = {}
        self._key = net.mode()
        self._mode = self._known_mode()
        self._touched = True
        self._given: tuple[float, ...] = ()
        self._given_at = [slot.index for slot, _ in net.input_values]
        self.length: Length
        self._carries = [self._compile(_LEFT), self._compile(_RIGHT)]
        self.carry = self._carries[_LEFT]
        self._rates_of = self._compile_rates()
        self._changes = [function("x", [f"return {delay.change_text()}"], Names()) for delay in net.delays]

    def _compile(self, side: int) -> Callable[[Length], None]:
        """One step from a side to the other as one flat function, since it runs at every exchange.

        What is driven is packed into the buffer: numpy takes five times as long for ten numbers.
        """
        names, buffer, width = Names(), self._buffer, self.net.width
        tail, first = self._tails, self._tails + self._states
        if side == _LEFT:
            product, begin, written = "there", tail, tail + width + self._driven
            end, found = tail + width, len(buffer) - tail
        else:
            product, begin, written = "back", first, 0
            end, found = first + self._inputs, 0
        read, into = buffer[begin : begin + width + self._driven], buffer[written : written + first]
        me, raw = names.of(self), names.of(memoryview(buffer.data).cast("B"))
        pack = names.of(Struct(f"{self._driven}d").pack_into)
        unpack = names.of(Struct(f"{tail}d").unpack_from)
        needed = [f"p{index}" for index in self._needed]
        entering = [f"c{i}" for i in range(len(self.net.delays))]
        given = "".join(f"{one}, " for one in (*needed, *entering))
        rates, results = self.net.rate_lines(names, lambda index: f"p{index}")
        lines = ["s = length.seconds", f"{given} = {me}._tail" if given else "", *rates]
        for delay in self.net.delays:
            results.append(f"r{delay.slot.index}")
            lines += delay.move_lines(names.of(delay), results[-1])
        lines.append(f"{pack}({raw}, {8 * end}{''.join(f', {result}' for result in results)})")
        lines.append(f"length.{product}({names.of(read)}, {names.of(into)})")
        lines.append(f"{given} = {me}._tail = {unpack}({raw}, {8 * found})" if given else "")
        for delay, change in zip(self.net.delays, entering, strict=True):
            lines += delay.record_lines(names.of(delay), f"r{delay.slot.index}", change)
        lines += [f"{me}._now = None", f"{me}._side = {1 - side}", f"{me}.carry = {me}._carries[{1 - side}]"]
        return function("length", lines, names)

    def _compile_rates(self) -> Callable[[list[float]], tuple[float, ...]]:
        """The rates that belong to what they need of the states."""
        names = Names()
        lines, results = self.net.rate_lines(names, lambda index: f"p{index}")
        given = "".join(f"p{index}, " for index in self._needed)
        take = f"{given} = needed" if given else ""
        return function("needed", [take, *lines, f"return ({''.join(f'{one}, ' for one in results)})"], names)

    @property
    def now(self) -> list[float]:
        """States, inputs and what drives them now; good until the next step or change."""
        if self._now is None:
            if self._side == _LEFT:
                self._now = self._first.tolist()
            else:
                middle = self._middle.tolist()
                del middle[self._inputs : self._inputs + self._driven]
                self._now = self._right.tolist() + middle
        return self._now

    @now.setter
    def now(self, values: list[float]) -> None:
        self._now = values

    def _to_left(self) -> None:
        """Take the left side, where a step of any length can begin."""
        if self._side == _RIGHT:
            self._first[: self._states] = self._right
            self._start[:] = self._middle[self._inputs + self._driven :]
            self._side, self.carry = _LEFT, self._carries[_LEFT]
        self.ahead_ms = 0

    def set(self, index: int, value: float) -> None:
        """Change a state or an input between steps; `settle` must follow."""
        now = self.now
        self._to_left()
        self._first[index] = now[index] = value
        self._touched = True

    def step(self, ms: int) -> None:
        """Carry everything on by `ms`, at most `longest_step_ms`."""
        if ms != self.ahead_ms:
            self._to_left()
            self.length = self._mode.length(ms)
            self._tail = self._predicted(self.length)
            self.ahead_ms = ms
        self.carry(self.length)

    def _predicted(self, length: Length) -> tuple[float, ...]:
        """The tail for a first step: predicted with the rates held, then with the change found so."""
        held = length.predict(self._first)
        change = np.array(self._rates_of(held.tolist())) - self._start[: self._rates]
        return (*(held + length.correct(change)).tolist(), *([0.0] * len(self.net.delays)))

    def _known_mode(self) -> Mode:
        mode = self._modes.get(self._key)
        if mode is None:
            if len(self._modes) >= _MODES_KEPT:
                self._modes.clear()
            mode = self._modes[self._key] = Mode(self.net)
        return mode

    def rates_now(self) -> tuple[float, ...]:
        """The rates that belong to the present states."""
        now = self.now
        return self._rates_of([now[index] for index in self._needed])

    def _rates_begun(self) -> np.ndarray:
        """The rates that the next step begins with."""
        first = self._states + self._inputs
        return np.array(self.now[first : first + self._rates])

    def smooth_s(self, error: float) -> float:
        """How long steps may be if bending rates may cost an `error` [K] in half a second.

        A step of h errs by h^3 r'' / 12; r'' is that of the rates predicted for the next half second.
        """
        if not self._rates:
            return inf
        z = np.array(self.now)
        near, far = map(self._rates_of, self._mode.ahead(z))
        begun = z[self.net.width - self._driven :][: self._rates]
        bend = self._mode.warming @ (np.array(far) - 2.0 * np.array(near) + begun)
        most = float(max(bend.max(), -bend.min()))
        return float((24.0 * error / most) ** 0.5) * self._mode.ahead_s if most else inf

    def settle(self) -> bool:
        """Take over what an event has changed: flows, inputs, capacities. Whether anything has.

        If nothing has, a step that is prepared stays so.
        """
        net = self.net
        crossed = [delay.cross() for delay in net.delays]
        flows = [delay.settle() for delay in net.delays]
        before, given = self._key, net.given()
        self._key = net.mode()
        same = self._key == before and given == self._given and not self._touched
        if same and not any(crossed) and not any(changed for changed, _ in flows) and not self._jump():
            return False
        self._to_left()
        self._given, self._touched = given, False
        self._first[self._given_at] = given
        late_s = self._correct(crossed)
        for delay, (_, jump) in zip(net.delays, flows, strict=True):
            self._first[delay.theta.index] += jump
        self._mode = self._known_mode()
        self._now = None
        self._start[:] = [*self.rates_now(), *(delay.move(0.0) for delay in net.delays)]
        self._now = None
        for delay, change, (flow_changed, _) in zip(net.delays, self._changes, flows, strict=True):
            delay.mark(change(self.now), flow_changed, late_s)
        return True

    def _jump(self) -> bool:
        """Whether rates have changed at once: something that they depend on beside the states."""
        if not self._rates:
            return False
        off = self._mode.warming @ (np.array(self.rates_now()) - self._rates_begun())
        return float(np.abs(off).max()) > _NO_JUMP

    def _correct(self, crossed: list[tuple[float, float] | None]) -> float:
        """Put right what breaks that were passed early let through; how soon the latest comes [s]."""
        latest = 0.0
        for delay, passed in zip(self.net.delays, crossed, strict=True):
            late_s, error = passed or (0.0, 0.0)
            latest = max(latest, late_s)
            for transfer in self.net.transfers if error else ():
                if transfer.level is delay.outlet.level:
                    amount = error * (transfer.gain() if callable(transfer.gain) else transfer.gain)
                    for slot, sign in ((transfer.into, 1.0), (transfer.out_of, -1.0)):
                        if slot is not None:
                            self._first[slot.index] += sign * amount
        return latest

    def save(self) -> object:
        """The whole state as plain data, to be restored exactly."""
        return self._side, tuple(self.now), self.ahead_ms, self._tail

    def restore(self, saved: tuple[int, tuple[float, ...], int, tuple[float, ...]]) -> None:
        """Go back to a saved state; flows and frozen capacities are already restored."""
        side, now, self.ahead_ms, self._tail = saved
        self._side, self.carry, self._now = side, self._carries[side], list(now)
        self._key, self._touched = self.net.mode(), False
        self._given = tuple(now[index] for index in self._given_at)
        self._mode = self._known_mode()
        self._first[:] = now
        if side == _RIGHT:
            self._right[:] = now[: self._states]
            self._middle[self._inputs + self._driven :] = now[self._states + self._inputs :]
        if self.ahead_ms:
            self.length = self._mode.length(self.ahead_ms)

    def longest_step_ms(self, cap_ms: int) -> int:
        """No step may be longer than what is still on its way through the shortest pipe."""
        shortest_s = min((delay.longest_step_s() for delay in self.net.delays), default=inf)
        return max(1, int(min(cap_ms, shortest_s * 1000.0)))
