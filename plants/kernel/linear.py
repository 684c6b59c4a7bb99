"""A plant at its present state as a linear system, for the design and the check of controllers.

With x the states, u some inputs and y some signals, all as differences from the present state,

    x' = A x + B u        y = C x

holds while the differences are small and no event comes between. Derivatives of the rates and of the signals
are central differences.

Plug flow has no finite state. Where it is asked for, each pipe becomes a row of stirred cells of the same
content: its dead time exp(-s t) is then 1 / (1 + s t / cells)^cells, with the same mean and a standard
deviation of t / sqrt(cells) in place of none. The decay along the pipe stays exact.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np

from plants.kernel.describe import unknown
from plants.kernel.network import Level, Slot
from plants.kernel.plant import Plant

_STEP = 1e-6


@dataclass(frozen=True)
class Linear:
    """`a` (n, n), `b` (n, inputs), `c` (outputs, n); names say what belongs to rows and columns.

    States are stores as the plant keeps them (J, kg, degC for followers; K for cells of pipes), inputs W or
    degC. `kinds` says of each state whether it is heat, water, gas, a follower or a cell.
    """

    a: np.ndarray
    b: np.ndarray
    c: np.ndarray
    states: tuple[str, ...]
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    kinds: tuple[str, ...] = ()


def linearise(plant: Plant, inputs: Sequence[str], outputs: Sequence[str], *, cells: int = 0) -> Linear:
    """The plant as it stands now; it is not changed.

    Parameters
    ----------
    inputs : names of heat sources (`heater heat`) and of what else is constant between events.
    outputs : names of signals that move steadily, such as temperatures, or of states (`kettle sensor`).
    cells : how many stirred cells stand for each pipe in which water flows; 0 refuses pipes.

    Raises
    ------
    ValueError
        If a name does not exist, or water stands or flows in pipes and `cells` is 0.
    """
    net, stepper = plant._net, plant._stepper
    if net.delays and not cells:
        raise ValueError(
            f"{plant.name}: pipes delay what flows. Linearise a plant without pipes, or give cells."
        )
    slots = {slot.name: slot for slot, _ in net.inputs}
    own = {slot.name: slot for slot, _, _ in net.states}
    signals = {signal.name: number for number, signal in enumerate(plant.signals)}
    for what, wanted, known in (("input", inputs, slots), ("signal", outputs, {**signals, **own})):
        for name in wanted:
            if name not in known:
                raise unknown(plant.name, what, name, known)
    over = _Reduced(plant, cells)
    at = np.array(stepper.now)
    moved = _slopes(lambda x: _signals(plant, x), at, len(at))
    rows = [
        over.reduce(moved[signals[name]] if name in signals else _unit(len(at), own[name].index))
        for name in outputs
    ]
    b = np.zeros((over.size, len(inputs)))
    b[: over.count] = net.matrix()[:, [slots[name].index for name in inputs]]
    return Linear(
        a=over.matrix(), b=b, c=np.array(rows).reshape(len(outputs), over.size),
        states=(*own, *over.cell_names), inputs=tuple(inputs), outputs=tuple(outputs),
        kinds=(*(kind for _, _, kind in net.states), *("cell" for _ in over.cell_names)),
    )  # fmt: skip


class _Reduced:
    """From the stacked vector of the stepping to the states and the cells of the pipes."""

    def __init__(self, plant: Plant, cells: int) -> None:
        net = plant._net
        self._net, self._cells, self.count = net, cells, len(net.states)
        self._flowing = [delay for delay in net.delays if isfinite(delay.longest_step_s())]
        self.cell_names = tuple(
            f"{delay.slot.name} {cell + 1}" for delay in self._flowing for cell in range(cells)
        )
        self.size = self.count + len(self.cell_names)
        self._rates = _slopes(lambda x: _rates(plant, x), np.array(plant._stepper.now), self.count)
        self._driven = self.count + len(net.inputs)

    def reduce(self, row: np.ndarray) -> np.ndarray:
        """A row over the stacked vector as one over states and cells."""
        out = np.zeros(self.size)
        after = self._driven + len(self._rates)
        out[: self.count] = row[: self.count] + row[self._driven : after] @ self._rates
        for number, delay in enumerate(self._flowing):
            last = self.count + (number + 1) * self._cells - 1
            out[last] += row[delay.slot.index] * delay.share_left()
        return out

    def matrix(self) -> np.ndarray:
        """A of states and cells."""
        a = np.zeros((self.size, self.size))
        for number, row in enumerate(self._net.matrix()):
            a[number] = self.reduce(row)
        for number, delay in enumerate(self._flowing):
            pace = self._cells / delay.longest_step_s()
            first = self.count + number * self._cells
            enters = _row(delay.inlet, self._net.width)
            enters[delay.theta.index] -= 1.0
            a[first] = pace * self.reduce(enters)
            for cell in range(first, first + self._cells):
                a[cell, cell] -= pace
                if cell > first:
                    a[cell, cell - 1] += pace
        return a


def _row(level: Level, width: int) -> np.ndarray:
    row = np.zeros(width)
    for slot, factor in level.terms():
        row[slot.index] += factor
    return row


def _unit(width: int, index: int) -> np.ndarray:
    row = np.zeros(width)
    row[index] = 1.0
    return row


def _slopes(function: Callable[[list[float]], list[float]], at: np.ndarray, count: int) -> np.ndarray:
    """Derivatives with respect to the first `count` entries, shape (values, count)."""
    columns = []
    for number in range(count):
        step = _STEP * max(abs(at[number]), 1.0)
        ends = []
        for sign in (1.0, -1.0):
            moved = at.copy()
            moved[number] += sign * step
            ends.append(np.array(function(moved.tolist())))
        columns.append((ends[0] - ends[1]) / (2.0 * step))
    return np.array(columns).T.reshape(-1, count)


def _rates(plant: Plant, x: list[float]) -> list[float]:
    return [v for one in plant._net.rates for v in one.function(*(x[slot.index] for slot in one.arguments))]


def _signals(plant: Plant, x: list[float]) -> list[float]:
    """All signals as they would be at `x`."""
    stepper, now = plant._stepper, plant._stepper.now
    stepper.now = x
    try:
        return plant.sample()
    finally:
        stepper.now = now


def heat_steps(plant: Plant, off: Sequence[float], on: Sequence[float], wait_ms: int) -> dict[str, float]:
    """By how much each heat source (and other input) of a plant differs between two commands.

    The plant is put back as it was.

    Parameters
    ----------
    off, on : values for the actuators, as `Plant.command` takes them.
    wait_ms : how long each is left in force before the inputs are looked at.
    """
    saved, told = plant.save(), plant.on_change
    plant.on_change = None
    seen: list[dict[Slot, float]] = []
    for values in (off, on):
        plant.restore(saved)
        plant.command(values)
        plant.advance(plant.time_ms + wait_ms)
        seen.append({slot: plant._stepper.now[slot.index] for slot, _ in plant._net.inputs})
    plant.restore(saved)
    plant.on_change = told
    return {slot.name: seen[1][slot] - seen[0][slot] for slot in seen[0] if seen[1][slot] != seen[0][slot]}
