"""An independent solution of a plant's equations, for checks: scipy's solve_ivp with exact delays.

It shares with the plant the matrix F, the functions of the rates and the instants of the events, and nothing
of the stepping: the states are integrated with a tight tolerance piece by piece, and what leaves a pipe is
looked up in the solver's own dense output at the instant at which the parcel entered.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

LONGEST_PIECE_MS = 2000


@dataclass
class Piece:
    """One stretch between events: its dense solution, and the volume that had entered at its start."""

    start: float
    end: float
    solution: object
    entered: float
    rate: float


class Entering:
    """The stacked vector at an earlier time, with its delays worked out only where they are asked for."""

    def __init__(self, oracle, t, x):
        self.oracle, self.t, self.x = oracle, t, x

    def __getitem__(self, index):
        pipe = self.oracle.pipes.get(index)
        return self.x[index] if pipe is None else self.oracle.delayed(pipe, self.t)


class DelayOracle:
    """Follows `plant` (a fresh one, which it advances for its events only) with a solver."""

    def __init__(self, plant, method="DOP853", rtol=1e-10):
        self.plant, self.net, self.method, self.rtol = plant, plant._net, method, rtol
        self.states = len(self.net.states)
        self.x = np.array(plant._stepper.now[: self.states])
        self.follow = np.array([kind == "follower" for _, _, kind in self.net.states])
        self.pipes = {pipe.slot.index: pipe for pipe in self.net.delays}
        self.changes = {i: compile(p.change_text(), "change", "eval") for i, p in self.pipes.items()}
        self.pieces: list[Piece] = []
        self.ends: list[float] = []
        self.entered = 0.0
        self.breaks: list[float] = [0.0]
        self.looked_up: dict[tuple[int, float], float] = {}

    def stacked(self, t, x, inputs):
        """The vector z at a time of the present piece or before."""
        rates = [
            value
            for rates in self.net.rates
            for value in rates.function(*(x[slot.index] for slot in rates.arguments))
        ]
        z = [*x, *inputs, *rates, *([0.0] * len(self.net.delays))]
        for index, pipe in self.pipes.items():
            z[index] = self.delayed(pipe, t)
        return z

    def delayed(self, pipe, t):
        """Outlet temperature less theta at time t; a solver asks for the same instants again and again."""
        key = (pipe.slot.index, t)
        if key not in self.looked_up:
            self.looked_up[key] = self.look_up(pipe, t)
        return self.looked_up[key]

    def look_up(self, pipe, t):
        """See `delayed`."""
        leaving = self.entered_at(t) - pipe._volume
        if leaving <= 0.0:
            return 0.0
        at = bisect_left(self.ends, leaving)
        while self.pieces[at].rate == 0.0:
            at += 1
        piece = self.pieces[at]
        entry = min(max(piece.start + (leaving - piece.entered) / piece.rate, piece.start), t)
        change = eval(self.changes[pipe.slot.index], {"x": Entering(self, entry, piece.solution(entry))})
        return change * np.exp(-pipe._k * (t - entry))

    def entered_at(self, t):
        """Volume that has entered by time t."""
        for piece in reversed(self.pieces):
            if t >= piece.start:
                return piece.entered + piece.rate * (t - piece.start)
        return 0.0

    def arrivals(self, start, end, rate):
        """Instants in a stretch at which a break of the inlet reaches an outlet."""
        if rate == 0.0:
            return []
        times = []
        volumes = np.cumsum([pipe._volume for pipe in self.net.delays])
        for one in self.breaks:
            for volume in [pipe._volume for pipe in self.net.delays] + list(volumes):
                at = start + (one + volume - self.entered) / rate
                if start + 1e-9 < at < end - 1e-9:
                    times.append(at)
        return sorted(times)

    def advance(self, until_ms):
        """Solve to `until_ms`; no event may lie in between (the plant's are at the ends)."""
        start, end = self.plant.time_ms * 0.001, until_ms * 0.001
        rate = self.net.delays[0].rate if self.net.delays else 0.0
        if self.pieces and self.pieces[-1].rate != rate:
            self.breaks.append(self.entered)
        matrix = self.net.matrix()
        inputs = np.array(self.plant._stepper.now[self.states : self.states + len(self.net.inputs)])
        shortest = min((pipe._volume for pipe in self.net.delays), default=np.inf)
        parts = int((end - start) * rate / (0.8 * shortest)) + 1
        cuts = sorted({*np.linspace(start, end, parts + 1)[:-1], *self.arrivals(start, end, rate)})
        for one, other in zip(cuts, [*cuts[1:], end], strict=True):
            self.piece(one, other, rate, matrix, inputs)
        self.plant.advance(until_ms)

    def piece(self, start, end, rate, matrix, inputs):
        """Solve one smooth stretch."""
        piece = Piece(start, end, lambda t: self.x, self.entered, rate)
        self.pieces.append(piece)
        self.ends.append(self.entered + rate * (end - start))

        self.looked_up.clear()

        def slope(t, x):
            t = min(max(t, start + 1e-12), end - 1e-12)
            return matrix @ np.array(self.stacked(t, x, inputs))

        jacobian = {} if self.method == "DOP853" else {"jac": lambda t, x: self.jacobian(matrix, x)}
        solved = solve_ivp(
            slope, (start, end), self.x, method=self.method, rtol=self.rtol,
            atol=np.where(self.follow, 1e-9, 1e-4), dense_output=True, **jacobian,
        )  # fmt: skip
        assert solved.success, solved.message
        piece.solution = solved.sol
        self.x = solved.y[:, -1]
        self.entered += rate * (end - start)

    def jacobian(self, matrix, x):
        """Slope of the slope: F for the states, and the rates by central differences."""
        made, column = matrix[:, : self.states].copy(), self.states + len(self.net.inputs)
        for rates in self.net.rates:
            given = [x[slot.index] for slot in rates.arguments]
            effect = matrix[:, column : column + len(rates.slots)]
            column += len(rates.slots)
            for number, slot in enumerate(rates.arguments):
                step = 1e-7 * max(abs(given[number]), 1.0)
                ends = []
                for moved in (given[number] + step, given[number] - step):
                    ends.append(np.array(rates.function(*given[:number], moved, *given[number + 1 :])))
                made[:, slot.index] += effect @ (ends[0] - ends[1]) / (2.0 * step)
        return made

    def temperatures(self, levels):
        """Levels evaluated on the oracle's own state."""
        inputs = self.plant._stepper.now[self.states : self.states + len(self.net.inputs)]
        z = self.stacked(self.plant.time_ms * 0.001, self.x, inputs)
        return [eval(text, {"x": z}) for text in levels]


def until(plant, time_ms):
    """Advance at once, in the longest steps that a plant takes."""
    plant.advance(time_ms)


def worst_errors(make, schedule, length_ms, advances, method="DOP853", rtol=1e-10):
    """Largest difference [K] from the oracle over a schedule [(time_ms, command values)], for each advance.

    `make` builds a fresh plant, an advance(plant, time_ms) carries one on. Compares all temperatures and
    probe sensors at least every two seconds, and the contents of the vessels in units of 100 g: evaporating
    a ten-thousandth of that takes the heat of about 2e-4 K in 30 kg.
    """
    times = {time for time, _ in schedule} | set(range(0, length_ms + 1, LONGEST_PIECE_MS))
    scout = make()
    scout.on_change = lambda t_ms, text: times.add(t_ms)
    commands = dict(schedule)
    for time in sorted(time for time in times if time <= length_ms):
        scout.advance(time)
        scout.command(commands.get(time, scout._commanded))
    plants, oracle = [make() for _ in advances], DelayOracle(make(), method, rtol)
    net, worst = oracle.net, [0.0] * len(plants)
    levels = [e.text(None) for e in net.signals if e.signal.unit == "degC"]
    levels += [f"x[{s.index}]" for s, _, _ in net.states if s.name.endswith("sensor")]
    levels += [f"10*x[{slot.index}]" for slot, _, kind in net.states if kind == "water"]
    for time in sorted(time for time in times if time <= length_ms):
        if time > oracle.plant.time_ms:
            for plant, advance in zip(plants, advances, strict=True):
                advance(plant, time)
            oracle.advance(time)
        for one in (*plants, oracle.plant):
            one.command(commands.get(time, one._commanded))
        found = oracle.temperatures(levels)
        for number, plant in enumerate(plants):
            mine = [eval(text, {"x": plant._stepper.now}) for text in levels]
            off = max(abs(a - b) for a, b in zip(mine, found, strict=True))
            worst[number] = max(worst[number], off)
    return worst


def worst_error(make, schedule, length_ms, method="DOP853", rtol=1e-10):
    """The same in the longest steps that the plant takes."""
    return worst_errors(make, schedule, length_ms, (until,), method, rtol)[0]
