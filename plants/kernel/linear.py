"""A plant at its present state as a linear system, for the design and the check of controllers.

With x the states, u some inputs and y some signals, all as differences from the present state,

    x' = A x + B u        y = C x

holds while the differences are small and no event comes between. Derivatives of the rates and of the signals
are central differences.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from plants.kernel.describe import unknown
from plants.kernel.plant import Plant

_STEP = 1e-6


@dataclass(frozen=True)
class Linear:
    """`a` (n, n), `b` (n, inputs), `c` (outputs, n); names say what belongs to rows and columns.

    States are stores as the plant keeps them (J, kg, degC for followers), inputs W or degC.
    """

    a: np.ndarray
    b: np.ndarray
    c: np.ndarray
    states: tuple[str, ...]
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]


def linearise(plant: Plant, inputs: Sequence[str], outputs: Sequence[str]) -> Linear:
    """The plant as it stands now; it is not changed.

    Parameters
    ----------
    inputs : names of heat sources (`heater heat`) and of what else is constant between events.
    outputs : names of signals that move steadily, such as temperatures.

    Raises
    ------
    ValueError
        If a name does not exist, or water stands or flows in pipes: plug flow has no finite state.
    """
    net, stepper = plant._net, plant._stepper
    if net.delays:
        raise ValueError(f"{plant.name}: pipes delay what flows. Linearise a plant without pipes.")
    slots = {slot.name: slot for slot, _ in net.inputs}
    signals = {signal.name: number for number, signal in enumerate(plant.signals)}
    for what, wanted, known in (("input", inputs, slots), ("signal", outputs, signals)):
        for name in wanted:
            if name not in known:
                raise unknown(plant.name, what, name, known)
    count, f = len(net.states), net.matrix()
    at = np.array(stepper.now)
    rates = _slopes(lambda x: _rates(plant, x), at, count)
    driven = count + len(net.inputs)
    a = f[:, :count] + f[:, driven : driven + len(rates)] @ rates
    return Linear(
        a=a, b=f[:, [slots[name].index for name in inputs]],
        c=_slopes(lambda x: _signals(plant, x), at, count)[[signals[name] for name in outputs]],
        states=tuple(slot.name for slot, _, _ in net.states), inputs=tuple(inputs), outputs=tuple(outputs),
    )  # fmt: skip


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
