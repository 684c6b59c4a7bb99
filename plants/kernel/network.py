"""A plant as a network of stores that exchange heat, water and gas.

The stores hold extensive quantities (J, kg), and every rate of change is a *transfer* out of one store into
another: whatever leaves one place arrives in another, with accumulators for what leaves the plant. So the sum
over the stores of one kind never changes, whatever the rates are, and the balances close to rounding.

The state x and the scalars r that drive it make one stacked vector z; the rate of change is F z with a
constant matrix F = [A B] for one operating mode. The scalars are

- *inputs*: constant until an event changes them (heat of the burner, room temperature),
- *rates*: functions of a few states (evaporation; how far a vessel's heat capacity has moved from the frozen
one),
- *delays*: what plug flow brings to the end of a pipe, known ahead of time.

A *level* is an intensive quantity, mostly a temperature, written as a linear combination of entries of z; its
text is the same as a Python expression over a list `x` of z's values.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from plants.kernel.compiled import Names, function

if TYPE_CHECKING:
    import numpy as np

Gain = float | Callable[[], float]


@dataclass(eq=False)
class Slot:
    """One entry of the stacked vector; `index` is known once the network is closed."""

    name: str
    index: int = -1


@dataclass(frozen=True)
class Level:
    """An intensive quantity: `terms` for the matrix, `text` for compiled reading."""

    terms: Callable[[], list[tuple[Slot, float]]]
    text: Callable[[], str]


def level_of(slot: Slot, factor: float = 1.0) -> Level:
    """The level that is one entry of z times a factor."""
    return Level(
        lambda: [(slot, factor)],
        lambda: f"x[{slot.index}]" if factor == 1.0 else f"x[{slot.index}]*{factor!r}",
    )


@dataclass(frozen=True)
class Place:
    """Somewhere heat can come from or go to: where it is counted, and its temperature."""

    heat: Slot
    level: Level


@dataclass(frozen=True)
class Transfer:
    """`gain` times `level` per second leaves one store and enters another; either may be none."""

    level: Level
    gain: Gain
    out_of: Slot | None
    into: Slot | None


_JOULES = {"heat": 1.0, "follower": 4e3, "water": 1e6, "gas": 1e6}
"""What one unit of a state of each kind counts for beside heat: a follower for a litre of water."""

RateText = Callable[[Names, Sequence[str], Sequence[str]], list[str]]
"""Lines that compute rates: text(names, names of the arguments, names of the results)."""


@dataclass(frozen=True)
class RateSet:
    """Scalars computed together from a few states; `text` is what the compiled step is given."""

    function: Callable[..., tuple[float, ...]]
    arguments: tuple[Slot, ...]
    slots: tuple[Slot, ...]
    text: RateText


class Delay(Protocol):
    """Plug flow: see parts/pipe.py."""

    slot: Slot
    theta: Slot
    rate: float
    inlet: Level
    outlet: Place

    def change_text(self) -> str:
        """Inlet temperature less the drift of the surroundings, as an expression over x."""

    def change_terms(self) -> list[tuple[Slot, float]]:
        """The same as a linear combination."""

    def move(self, seconds: float) -> float:
        """Carry the content on; the delayed value at the end of that time."""

    def move_lines(self, me: str, result: str) -> list[str]:
        """The same as lines of a compiled step of s seconds, with `me` and the `result` named."""

    def record_lines(self, me: str, result: str, change: str) -> list[str]:
        """Lines after those of `move_lines` that remember what enters now, the value called `change`."""

    def settle(self) -> tuple[bool, float]:
        """Take over the present flow: whether it has changed, and by how much theta jumps."""

    def cross(self) -> tuple[float, float] | None:
        """Pass a break that reaches the outlet within a millisecond, if any: how soon [s], error [K s]."""

    def mark(self, change: float, changed_flow: bool, late_s: float) -> None:
        """Note a break where what enters has jumped or the flow has changed."""

    def next_break_s(self) -> float:
        """Time until the next break reaches the outlet."""

    def share_left(self) -> float:
        """Share of a difference from the surroundings that is left at the outlet, at the present flow."""

    def longest_step_s(self) -> float:
        """The delay at the present flow."""


@dataclass
class Network:
    """Collects what parts add; `close` gives every slot its index.

    Attributes
    ----------
    mode : what the matrix depends on: all gains that can change, and the frozen heat capacities.
    given : the inputs of `input_values` now.
    """

    mode: Callable[[], tuple[float, ...]] = field(init=False)
    given: Callable[[], tuple[float, ...]] = field(init=False)

    states: list[tuple[Slot, float, str]] = field(default_factory=list)
    inputs: list[tuple[Slot, float]] = field(default_factory=list)
    rates: list[RateSet] = field(default_factory=list)
    delays: list[Delay] = field(default_factory=list)
    transfers: list[Transfer] = field(default_factory=list)
    frozen: list[Callable[[], float]] = field(default_factory=list)
    capacities: dict[Slot, Gain] = field(default_factory=dict)
    input_values: list[tuple[Slot, Callable[[], float]]] = field(default_factory=list)

    def state(self, name: str, start: float, kind: str) -> Slot:
        """A state; `kind` is heat, water, gas (balanced) or follower (not)."""
        slot = Slot(name)
        self.states.append((slot, start, kind))
        return slot

    def input(self, name: str, value: float) -> Slot:
        """A scalar that is constant between events."""
        slot = Slot(name)
        self.inputs.append((slot, value))
        return slot

    def rate_set(
        self, asked: Callable[..., tuple[float, ...]], arguments: Sequence[Slot], *names: str
    ) -> list[Slot]:
        """Scalars that `asked` computes from the states `arguments`."""

        def called(known: Names, given: Sequence[str], results: Sequence[str]) -> list[str]:
            return [f"{', '.join(results)}, = {known.of(asked)}({', '.join(given)})"]

        return self._add_rates(asked, arguments, names, called)

    def rate_text(self, text: RateText, arguments: Sequence[Slot], *names: str) -> list[Slot]:
        """The same, written out as lines for the compiled step, where a call would cost as much again."""
        known, given = Names(), [f"a{i}" for i in range(len(arguments))]
        results = [f"b{i}" for i in range(len(names))]
        lines = [*text(known, given, results), f"return {', '.join(results)},"]
        return self._add_rates(function(", ".join(given), lines, known), arguments, names, text)

    def _add_rates(
        self, one: Callable[..., tuple[float, ...]], arguments: Sequence[Slot], names: Sequence[str],
        text: RateText,
    ) -> list[Slot]:  # fmt: skip
        slots = [Slot(name) for name in names]
        self.rates.append(RateSet(one, tuple(arguments), tuple(slots), text))
        return slots

    def node(self, name: str, capacity: float, start: float) -> Place:
        """A thermal mass of `capacity` [J/K] at `start` [degC]."""
        heat = self.state(f"{name} heat", capacity * start, "heat")
        self.capacities[heat] = capacity
        return Place(heat, level_of(heat, 1.0 / capacity))

    def follower(self, name: str, level: Level, per_second: Gain, start: float) -> Slot:
        """A state that follows `level` with a first-order lag of 1 / `per_second` seconds."""
        slot = self.state(name, start, "follower")
        self.follow(slot, level, per_second)
        return slot

    def follow(self, slot: Slot, level: Level, per_second: Gain) -> None:
        """Let a follower be drawn towards `level` (too)."""
        self.transfer(level, per_second, None, slot)
        self.transfer(level_of(slot), per_second, slot, None)

    def transfer(self, level: Level, gain: Gain, out_of: Slot | None, into: Slot | None) -> None:
        """Move `gain` times `level` per second."""
        self.transfers.append(Transfer(level, gain, out_of, into))

    def conduct(self, one: Place, other: Place, conductance: Gain) -> None:
        """Let heat pass between two places in proportion to their difference [W/K]."""
        self.transfer(one.level, conductance, one.heat, other.heat)
        self.transfer(other.level, conductance, other.heat, one.heat)

    def close(self) -> None:
        """Number the stacked vector: states, inputs, rates, delays; compile what is asked after events."""
        slots = [slot for slot, _, _ in self.states] + [slot for slot, _ in self.inputs]
        slots += [slot for rate_set in self.rates for slot in rate_set.slots]
        slots += [delay.slot for delay in self.delays]
        for index, slot in enumerate(slots):
            slot.index = index
        gains = dict.fromkeys(t.gain for t in self.transfers if callable(t.gain))
        self.mode = _all_of([*gains, *self.frozen])
        self.given = _all_of([value for _, value in self.input_values])

    @property
    def width(self) -> int:
        """Length of the stacked vector."""
        driven = sum(len(rate_set.slots) for rate_set in self.rates) + len(self.delays)
        return len(self.states) + len(self.inputs) + driven

    def needed(self) -> list[int]:
        """Indices of the states that the rates are computed from, each once."""
        return list(dict.fromkeys(slot.index for rates in self.rates for slot in rates.arguments))

    def rate_lines(self, names: Names, known: Callable[[int], str]) -> tuple[list[str], list[str]]:
        """Lines that compute all rates, and the names of the results; `known` names a state by its index."""
        lines: list[str] = []
        results: list[str] = []
        for rates in self.rates:
            made = [f"r{slot.index}" for slot in rates.slots]
            lines += rates.text(names, [known(slot.index) for slot in rates.arguments], made)
            results += made
        return lines, results

    def kelvins(self, slot: Slot, kind: str) -> float:
        """Kelvins that one unit of a state is worth: 1 of a follower, none of what only counts."""
        capacity = self.capacities.get(slot)
        if capacity is None:
            return 1.0 if kind == "follower" else 0.0
        return 1.0 / (capacity() if callable(capacity) else capacity)

    def units(self) -> np.ndarray:
        """What one unit of each state counts for where rates are compared. [J]"""
        import numpy as np  # at the first start: what is only put together needs no arrays

        return np.array([_JOULES[kind] for _, _, kind in self.states])

    def matrix(self) -> np.ndarray:
        """F, shape (states, width): the rate of change is F z."""
        import numpy as np

        f = np.zeros((len(self.states), self.width))
        for transfer in self.transfers:
            gain = transfer.gain() if callable(transfer.gain) else transfer.gain
            for slot, factor in transfer.level.terms():
                if transfer.into is not None:
                    f[transfer.into.index, slot.index] += gain * factor
                if transfer.out_of is not None:
                    f[transfer.out_of.index, slot.index] -= gain * factor
        return f


def _all_of(functions: Sequence[Callable[[], float]]) -> Callable[[], tuple[float, ...]]:
    """One function that asks all of them."""
    names = Names()
    return function("", [f"return ({''.join(f'{names.of(one)}(), ' for one in functions)})"], names)
