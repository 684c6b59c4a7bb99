"""Which plant probe feeds which device input, which device output drives which actuator.

Names join by themselves where they are equal; a scenario's wiring says the rest. An actuator that nothing
drives is refused unless the wiring lists it as unwired: a valve that can never open would pass every test.
So is a fault of a probe that no input reads, or of an actuator that nothing drives: the device would never
meet it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from difflib import get_close_matches

from harness.bench.channels import ChannelUnit, channel_unit
from harness.errors import FileMistakesError, Mistake
from harness.line import Channel, Identity
from harness.quantity import Quantity, QuantityError
from harness.scenario import PanelValue, Scenario
from plants import Fault, Plant, spelled


@dataclass(frozen=True)
class ProbeInput:
    """A device input fed by a plant probe."""

    channel: Channel
    probe: str
    unit: ChannelUnit


@dataclass(frozen=True)
class Drive:
    """A device output that drives an actuator: positions in the answer and in the plant's command."""

    output: int
    actuator: int


@dataclass(frozen=True)
class Joined:
    """A device joined to a plant.

    Attributes
    ----------
    probes : the inputs that every exchange carries, by rising channel number.
    panel : inputs a person sets, by name.
    drives : outputs that reach an actuator.
    warnings : what a person should see even if the run passes: probes that nothing reads.
    notes : what else there is to know: inputs left alone, outputs only recorded.
    """

    probes: tuple[ProbeInput, ...]
    panel: Mapping[str, Channel]
    drives: tuple[Drive, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


def offer(wrong: str, names: Iterable[str]) -> str:
    """The end of a message about a wrong name: the nearest right one, or all of them."""
    known = sorted(names)
    near = get_close_matches(wrong, known, 1)
    if near:
        return f'did you mean "{near[0]}"?'
    return f"there are: {', '.join(known)}." if known else "there are none."


class _Joiner:
    def __init__(self, scenario: Scenario, identity: Identity, plant: Plant) -> None:
        self.scenario, self.identity, self.plant = scenario, identity, plant
        self.mistakes: list[Mistake] = []
        self.wiring = scenario.wiring

    def wrong(self, entry: str, what: str) -> None:
        """Note a mistake at an entry of the wiring (such as `inputs.NAME`) or at its table."""
        wiring = self.wiring
        file = wiring.file if wiring and wiring.file else self.scenario.file
        line = wiring.lines.get(entry, wiring.line) if wiring else 0
        self.mistakes.append(Mistake(file, line, what))

    def unknown(self, key: str, what: str, named: Iterable[str], channels: Iterable[str]) -> None:
        """Note the names of the wiring that the device does not have."""
        known = set(channels)
        for name in named:
            if name not in known:
                self.wrong(f"{key}.{name}", f'the device has no {what} "{name}"; {offer(name, known)}')

    def probes(self) -> tuple[ProbeInput, ...]:
        known = {probe.name: probe for probe in self.plant.probes}
        named = self.wiring.inputs if self.wiring else {}
        self.unknown("inputs", "input", named, (channel.name for channel in self.identity.inputs))
        joined = []
        for channel in self.identity.inputs:
            probe = named.get(channel.name, channel.name)
            if probe not in known:
                continue
            if channel.unit in known[probe].units:
                joined.append(ProbeInput(channel, probe, channel_unit(channel.unit)))
            else:
                self.wrong(
                    f"inputs.{channel.name}",
                    f'the device wants input "{channel.name}" in {channel.unit}, but probe "{probe}" of '
                    f"{self.plant.name} is read in {spelled(known[probe].units)}. "
                    "Declare the channel so.",
                )
        return tuple(joined)

    def drives(self) -> tuple[Drive, ...]:
        actuators = {actuator.name: i for i, actuator in enumerate(self.plant.actuators)}
        named = self.wiring.outputs if self.wiring else {}
        self.unknown("outputs", "output", named, (channel.name for channel in self.identity.outputs))
        drives: dict[str, Drive] = {}
        for position, channel in enumerate(self.identity.outputs):
            target = named.get(channel.name, channel.name)
            if target not in actuators:
                continue
            entry, wanted = f"outputs.{channel.name}", self.plant.actuators[actuators[target]].unit
            if channel.unit != wanted:
                self.wrong(
                    entry,
                    f'output "{channel.name}" is in {channel.unit}, but actuator "{target}" takes {wanted}. '
                    f"Declare the channel in {wanted}.",
                )
            if target in drives:
                self.wrong(entry, f'two outputs drive actuator "{target}". Wire one of them elsewhere.')
            drives[target] = Drive(position, actuators[target])
        self.idle(drives, actuators)
        return tuple(drives.values())

    def idle(self, drives: Iterable[str], actuators: Iterable[str]) -> None:
        """Note the actuators that nothing drives and that are not meant to be idle."""
        unwired = self.wiring.unwired if self.wiring else ()
        for name in actuators:
            if name not in drives and name not in unwired:
                outputs = ", ".join(channel.name for channel in self.identity.outputs) or "none"
                self.wrong(
                    "unwired",
                    f'nothing drives actuator "{name}" of {self.plant.name}; '
                    f"the device's outputs are {outputs}. "
                    f'Wire one to it under [wiring.outputs], or list it: unwired = ["{name}"].',
                )

    def disturbed(self, read: Iterable[str], driven: Iterable[str]) -> None:
        """Note the disturbances of probes of which the device reads none, and of what it does not drive."""
        faults = {fault.kind: fault for fault in self.plant.faults}
        for disturbance in self.scenario.disturbances:
            fault = faults.get(disturbance.kind)
            if fault is not None:
                why = _out_of_reach(fault, disturbance.place, set(read), self._not_driven(driven))
                place = f" {disturbance.place}" if disturbance.place else ""
                what = f"{disturbance.kind}{place} reaches nothing: {why}, or leave this scenario out."
                self.mistakes += [Mistake(self.scenario.file, disturbance.line, what)] if why else []

    def _not_driven(self, driven: Iterable[str]) -> set[str]:
        return {actuator.name for actuator in self.plant.actuators} - set(driven)

    def panel(self, fed: Iterable[str]) -> dict[str, Channel]:
        taken = set(fed)
        free = {c.name: c for c in self.identity.inputs if c.name not in taken}
        settings = [self.scenario.panel, *(d.panel for d in self.scenario.disturbances)]
        for setting in settings:
            for name, value in setting.items():
                if name not in free:
                    self.mistakes.append(
                        Mistake(
                            self.scenario.file,
                            value.line,
                            f'the device\'s panel has no input "{name}"; {offer(name, free)}',
                        )
                    )
                    continue
                try:
                    panel_wire(value, free[name])
                except QuantityError as error:
                    self.mistakes.append(Mistake(self.scenario.file, value.line, f"panel {name}: {error}"))
        return free


def _out_of_reach(fault: Fault, place: str | None, read: Set[str], idle: Set[str]) -> str:
    """Why the device cannot meet a fault at a place, and how to mend that; empty if it can."""
    struck = set((place or "").split("+")) if fault.probes else set()
    if struck and struck.isdisjoint(read):
        names = " and ".join(f'"{name}"' for name in sorted(struck))
        return f"no input of the device reads {names}. Wire one to it under [wiring.inputs]"
    actuator = fault.actuator(place)
    if actuator in idle:
        return f'no output of the device drives "{actuator}". Wire one to it under [wiring.outputs]'
    return ""


def panel_wire(value: PanelValue, channel: Channel) -> int:
    """Wire value of a panel setting in the channel's unit.

    Raises
    ------
    QuantityError
        Where the setting's kind does not fit the channel, or its size does not.
    """
    unit = channel_unit(channel.unit)
    if isinstance(value.value, bool) != (unit.unit == "bool"):
        kind = "true or false" if unit.unit == "bool" else f"a value in {unit.unit}"
        raise QuantityError(f"{value.value} is given, but the device takes {kind}")
    if value.unit is None:
        if unit.unit not in ("bool", "count", "permille", "ms"):
            example = f'"{value.value:g} {unit.unit}"'
            raise QuantityError(f"{value.value:g} has no unit; write for example {example}")
        if value.value != int(value.value):
            raise QuantityError(f"{value.value:g} is not a whole number of {channel.unit}")
        wire = unit.wire(float(value.value))
    else:
        wire = unit.wire(Quantity(float(value.value), value.unit).to(unit.unit))
    if not unit.low <= wire <= unit.high:
        raise QuantityError(f"{wire} {channel.unit} is out of the channel's range {unit.low} to {unit.high}")
    return wire


def join(scenario: Scenario, identity: Identity, plant: Plant) -> Joined:
    """Join a device to a plant, by name and by the scenario's wiring.

    Raises
    ------
    FileMistakesError
        With every mistake at once: unknown names, units that do not fit, undriven actuators, disturbances
        of probes that the device does not read and of actuators that it does not drive.
    """
    joiner = _Joiner(scenario, identity, plant)
    probes = joiner.probes()
    drives = joiner.drives()
    joiner.disturbed(
        {probe.probe for probe in probes}, {plant.actuators[drive.actuator].name for drive in drives}
    )
    panel = joiner.panel(probe.channel.name for probe in probes)
    if joiner.mistakes:
        raise FileMistakesError(joiner.mistakes)
    read = {probe.probe for probe in probes}
    unread = ", ".join(probe.name for probe in plant.probes if probe.name not in read)
    warnings = (f"no input of the device reads: {unread}",) if unread else ()
    return Joined(probes, panel, drives, warnings, tuple(_notes(scenario, identity, panel, drives)))


def _notes(
    scenario: Scenario, identity: Identity, panel: Mapping[str, Channel], drives: Sequence[Drive]
) -> Iterable[str]:
    driven = {drive.output for drive in drives}
    recorded = [c.name for i, c in enumerate(identity.outputs) if i not in driven]
    if recorded:
        yield f"outputs recorded only: {', '.join(recorded)}"
    set_names = set(scenario.panel).union(*(d.panel for d in scenario.disturbances))
    left = [name for name in panel if name not in set_names]
    if left:
        yield f"panel inputs left as the device has them: {', '.join(_folded(left))}"


def _folded(names: Iterable[str]) -> Iterator[str]:
    """Names that differ in a number alone, three or more, as their first to their last."""
    alike: dict[str, list[str]] = {}
    for name in names:
        alike.setdefault(re.sub(r"\d+", "#", name), []).append(name)
    for group in alike.values():
        yield from group if len(group) < 3 else [f"{group[0]} to {group[-1]}"]
