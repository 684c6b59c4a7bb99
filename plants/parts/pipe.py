"""A run of pipe, or a coil in a tank: plug flow through surroundings.

A parcel of water that entered at time s with temperature T_in(s) loses its difference from the surroundings
with the rate k = UA / (volume x density x specific heat). With theta the solution of theta' = -k (theta -
T_around(t)), whatever T_around does, it leaves at time t with exactly

    T_out(t) = theta(t) + (T_in(s) - theta(s)) exp(-k (t - s))

and if k changes with the flow, with the integral of k in place of k (t - s), which the history's clock
counts. The parcel that leaves is found in the cumulative volume that has entered, so the delay is exact
under any flow, also through a stop. A coil is the same with the tank around it: at a steady flow
1 - exp(-k V/Q) = 1 - exp(-NTU), the effectiveness of an exchanger with one side at one temperature.

theta is a state of the network and its part of T_out is linear; d = T_out - theta is known ahead of time as
long as a step is shorter than the delay. A *break* is a point of the history where the inlet jumps or the
flow has changed; steps end where a break reaches the outlet.
"""

from __future__ import annotations

from collections import deque
from math import exp, inf

from plants.kernel.builder import Builder
from plants.kernel.network import Gain, Level, Place, Slot
from plants.media.water import SPECIFIC_HEAT
from plants.parts.part import Part
from plants.parts.pump import FLOW_DENSITY, Circuit

_NEAR_S = 0.00101
"""Breaks are planned at the last whole millisecond before they arrive."""
_NO_JUMP = 1e-5
"""Jumps at the inlet below this [K] are not worth a break."""


class Pipe(Part):
    """Plug flow from `inlet` through `around`; `outlet` is what leaves and where it is taken from.

    Parameters
    ----------
    volume_l : float
        Content. [L]
    ua : float or function
        Heat exchange of the whole run with its surroundings; a function is asked after each event. [W/K]
    """

    saved = (
        "_entered", "_clock", "rate", "_left", "_leaving", "_entries", "_breaks", "_k", "_steady", "_fade",
    )  # fmt: skip

    def __init__(
        self, net: Builder, name: str, circuit: Circuit, inlet: Place, around: Place, *,
        volume_l: float, ua: Gain, start: float,
    ) -> None:  # fmt: skip
        capacity = volume_l * 0.001 * FLOW_DENSITY * SPECIFIC_HEAT
        self._volume, self._circuit, self._ua, self._capacity = volume_l, circuit, ua, capacity
        self._k = self._rate_of_loss()
        self.content = net.node(name, capacity, start)
        self.theta = net.follower(f"{name} drift", around.level, lambda: self._k, start)
        self.slot = Slot(f"{name} delayed")
        self.inlet = inlet.level
        theta, slot = self.theta, self.slot
        outlet = Level(lambda: [(theta, 1.0), (slot, 1.0)], lambda: f"(x[{theta.index}] + x[{slot.index}])")
        self.outlet = Place(self.content.heat, outlet)
        net.conduct(self.content, around, lambda: self._k * capacity)
        net.transfer(inlet.level, circuit.heat_flow, inlet.heat, self.content.heat)
        net.delays.append(self)
        net.parts.append(self)
        self.rate = 0.0
        net.touchy.append(lambda: self.rate > 0.0)
        self._entered, self._clock, self._steady, self._fade = 0.0, 0.0, 0.0, 1.0
        self._left, self._leaving = (-volume_l, 0.0, 0.0), (0.0, 0.0, 0.0)
        self._entries: deque[tuple[float, float, float]] = deque()
        self._breaks: deque[float] = deque()

    def _rate_of_loss(self) -> float:
        """k [1/s] at the present flow."""
        return (self._ua() if callable(self._ua) else self._ua) / self._capacity

    def change_text(self) -> str:
        """Inlet temperature less theta, over x."""
        return f"{self.inlet.text()} - x[{self.theta.index}]"

    def change_terms(self) -> list[tuple[Slot, float]]:
        """The same as a linear combination."""
        return [*self.inlet.terms(), (self.theta, -1.0)]

    def move(self, seconds: float) -> float:
        """Carry the content on by `seconds`; the difference of the outlet from theta at the end of them."""
        self._clock += self._k * seconds
        if not self.rate:
            return 0.0
        self._entered += self.rate * seconds
        return self._difference()

    def _difference(self) -> float:
        leaving = self._entered - self._volume
        while self._leaving[0] < leaving and self._entries:
            self._next_leaves()
        v0, s0, d0 = self._left
        v1, s1, d1 = self._leaving
        part = (leaving - v0) / (v1 - v0) if v1 > v0 else 0.0
        if not -1.0 <= part <= 1.0:  # a piece of next to no length beside a break
            part = 0.0 if part < 0.0 else 1.0
        return (d0 + part * (d1 - d0)) * exp(s0 + part * (s1 - s0) - self._clock)

    # What has entered at the present flow, after `_steady`, has all lost the same share on its way.

    def _next_leaves(self) -> None:
        self._left, self._leaving = self._leaving, self._entries.popleft()

    def move_lines(self, me: str, result: str) -> list[str]:
        """`move` by s seconds written out."""
        clock, flow, entered = f"{result}_c", f"{result}_f", f"{result}_v"
        return [
            f"{me}._clock = {clock} = {me}._clock + {me}._k*s",
            f"{flow} = {me}.rate",
            f"if {flow}:",
            f"    {me}._entered = {entered} = {me}._entered + {flow}*s",
            f"    v = {entered} - {self._volume!r}",
            f"    v1, s1, d1 = e = {me}._leaving",
            f"    while v1 < v and {me}._entries:",
            f"        {me}._left = e",
            f"        {me}._leaving = v1, s1, d1 = e = {me}._entries.popleft()",
            f"    v0, s0, d0 = {me}._left",
            "    q = (v - v0)/(v1 - v0) if v1 > v0 else 0.0",
            "    if not -1.0 <= q <= 1.0:",
            "        q = 0.0 if q < 0.0 else 1.0",
            f"    if v0 > {me}._steady:",
            f"        {result} = (d0 + q*(d1 - d0))*{me}._fade",
            "    else:",
            f"        {result} = (d0 + q*(d1 - d0))*exp(s0 + q*(s1 - s0) - {clock})",
            "else:",
            f"    {result} = 0.0",
        ]

    def record_lines(self, me: str, result: str, change: str) -> list[str]:
        """Remember `change`, the difference from theta of what enters now."""
        return [f"if {result}_f:", f"    {me}._entries.append(({result}_v, {result}_c, {change}))"]

    def settle(self) -> tuple[bool, float]:
        """Take over the circuit's flow; whether it has changed, and the jump of theta that goes with it.

        While the flow stands, theta is the outlet's temperature itself: that keeps its decay in the linear
        part.
        """
        before, self.rate = self.rate, self._circuit.l_per_s
        if callable(self._ua):
            self._k = self._rate_of_loss()
        if before != self.rate and self.rate:
            self._steady, self._fade = self._entered, exp(-self._k * self._volume / self.rate)
        if bool(before) == bool(self.rate):
            return before != self.rate, 0.0
        return True, self._difference() if before else -self._difference()

    def mark(self, change: float, changed_flow: bool, late_s: float) -> None:
        """Begin a new piece of history if what enters has jumped or the flow has changed.

        The jump takes place `late_s` from now, less than a millisecond.
        """
        last = self._entries[-1] if self._entries else self._leaving
        steady = not changed_flow and last[1] == self._clock and abs(change - last[2]) < _NO_JUMP
        if steady or not self.rate:
            return
        at, clock = self._entered + self.rate * late_s, self._clock + self._k * late_s
        if late_s:
            self._entries.append((at, clock, last[2]))
        self._entries.append((at, clock, change))
        self._breaks.append(at)

    def next_break_s(self) -> float:
        """Seconds until a break reaches the outlet."""
        if not self._breaks or self.rate == 0.0:
            return inf
        return (self._breaks[0] + self._volume - self._entered) / self.rate

    def cross(self) -> tuple[float, float] | None:
        """Step over a break that is about a millisecond or less away from the outlet, if there is one.

        Returns how far away it was [s], and what leaves too much or too little [K s] when it is taken as
        passed.
        """
        late_s = self.next_break_s()
        if late_s > _NEAR_S:
            return None
        before = self.move(0.0)
        while self._breaks and self.next_break_s() <= _NEAR_S:
            reached = self._breaks.popleft()
            while self._entries and self._leaving[0] <= reached:
                self._next_leaves()
        return late_s, (before - self.move(0.0)) * late_s

    def share_left(self) -> float:
        """Share of a difference from the surroundings that is left at the outlet, at the present flow."""
        return exp(-self._k * self.longest_step_s()) if self.rate else 0.0

    def longest_step_s(self) -> float:
        """The delay at the present flow."""
        return self._volume / self.rate if self.rate else inf
