"""What a plant is built with: the network, and all that the plant offers to a bench.

A part is given the builder and adds stores, conductances, flows and sources to the network, and signals,
probes, actuators and faults to the offer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from plants.kernel.describe import Actuator, Fault, Probe, Signal
from plants.kernel.events import EventQueue
from plants.kernel.network import Network, Place, Slot, level_of

if TYPE_CHECKING:
    from plants.kernel.compiled import Names
    from plants.kernel.stepping import Stepper
    from plants.parts.part import Part


@dataclass(frozen=True)
class ActiveFault:
    """A fault in force."""

    kind: str
    place: str | None
    sizes: dict[str, float]


@dataclass(frozen=True)
class FaultEntry:
    """A fault and what acts on it: `change` gets all in force of its kind whenever one begins or ends."""

    fault: Fault
    change: Callable[[Sequence[ActiveFault]], None]


@dataclass(frozen=True)
class SignalEntry:
    """A signal and its expression over x; `text` may bind objects."""

    signal: Signal
    text: Callable[[Names], str]


@dataclass(frozen=True)
class ProbeEntry:
    """A probe and the expression of its reading over x and the time t [ms].

    text(names, unit, noise), where `noise` stands for a standard normal value.
    """

    probe: Probe
    text: Callable[[Names, str, str], str]


class Builder(Network):
    """Collects a plant.

    Attributes
    ----------
    seed : chooses what is left to chance.
    choices : the words a person has set, or their defaults, by name.
    stale : a part wants its `refreeze` called after this step.
    touchy : whether a part is where long steps cost accuracy (at the boil; flow in a pipe).
    """

    def __init__(self, seed: int = 0, choices: Mapping[str, str] = {}) -> None:
        super().__init__()
        self.seed, self.choices = seed, choices
        self.queue = EventQueue()
        self.parts: list[Part] = []
        self.refreeze: list[Callable[[list[float]], None]] = []
        self.stale = False
        self.touchy: list[Callable[[], bool]] = []
        self.told: list[str] = []
        self.acted: set[tuple[str, str | None]] = set()
        self.stepper: Stepper | None = None
        self.signals: list[SignalEntry] = []
        self.probes: list[ProbeEntry] = []
        self.actuators: list[tuple[Actuator, Callable[[float], None]]] = []
        self.faults: list[FaultEntry] = []
        self.supplied = self.state("heat supplied", 0.0, "heat")
        self.lost = self.state("heat lost", 0.0, "heat")
        self.vapour_heat = self.state("heat in vapour", 0.0, "heat")
        self.evaporated = self.state("water evaporated", 0.0, "water")
        self.brought = self.state("heat brought", 0.0, "heat")
        self.water_brought = self.state("water brought", 0.0, "water")

    def tell(self, text: str) -> None:
        """Report an event of the plant; it is passed on once it has taken effect."""
        self.told.append(text)

    def acts(self, kind: str, place: str | None = None) -> None:
        """Say that a fault that lurked has found something to act on."""
        self.acted.add((kind, place))

    def x(self, slot: Slot) -> float:
        """The present value of a state or input."""
        assert self.stepper is not None, "the plant is not finished"
        return self.stepper.now[slot.index]

    def jump(self, out_of: Slot, into: Slot, amount: float) -> None:
        """Move an amount from one store to another at once."""
        assert self.stepper is not None, "the plant is not finished"
        self.stepper.set(out_of.index, self.x(out_of) - amount)
        self.stepper.set(into.index, self.x(into) + amount)

    def room(self, temp: float) -> Place:
        """The air around: heat that goes there is lost."""
        return Place(self.lost, level_of(self.input("room", temp)))

    def evaporates(self, vapour: Slot, vapour_heat: Slot, mass: Slot, heat: Slot) -> None:
        """Let vapour [kg/s] with its heat [W] leave a vessel."""
        self.transfer(level_of(vapour), 1.0, mass, self.evaporated)
        self.transfer(level_of(vapour_heat), 1.0, heat, self.vapour_heat)

    def heat_source(self, name: str, into: Place, watts: Callable[[], float]) -> Slot:
        """Heat from outside; `watts` is asked after each event."""
        slot = self.input(name, 0.0)
        self.input_values.append((slot, watts))
        self.transfer(level_of(slot), 1.0, self.supplied, into.heat)
        return slot

    def signal(
        self, name: str, unit: str, about: str, text: Callable[[Names], str], *, switched: bool = False
    ) -> None:
        """Offer a true value, written as an expression over x."""
        self.signals.append(SignalEntry(Signal(name, unit, about, switched), text))

    def temperature(self, name: str, about: str, place: Place) -> None:
        """Offer the temperature of a place."""
        self.signal(name, "degC", about, lambda _: place.level.text())

    def attribute(
        self, name: str, unit: str, about: str, owner: object, attribute: str, *, switched: bool = True
    ) -> None:
        """Offer a value that a part holds."""
        self.signal(name, unit, about, lambda names: f"{names.of(owner)}.{attribute}", switched=switched)

    def flag(self, name: str, about: str, owner: object, attribute: str) -> None:
        """Offer a yes or no that a part holds, as 1 or 0."""
        self.signal(
            name, "bool", about, lambda names: f"1.0 if {names.of(owner)}.{attribute} else 0.0", switched=True
        )

    def actuator(self, name: str, unit: str, about: str, command: Callable[[float], None]) -> None:
        """Offer something to drive."""
        self.actuators.append((Actuator(name, unit, about), command))

    def probe(self, probe: Probe, text: Callable[[Names, str, str], str]) -> None:
        """Offer a reading."""
        self.probes.append(ProbeEntry(probe, text))

    def fault(self, fault: Fault, change: Callable[[Sequence[ActiveFault]], None]) -> None:
        """Offer something that can go wrong."""
        self.faults.append(FaultEntry(fault, change))
