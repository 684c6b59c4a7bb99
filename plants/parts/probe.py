"""Probes: a Pt100 in a thermowell with its electronics, and yes-or-no signals.

The sensor follows what is around it with a first-order lag. The electronics add noise, read the resistance
with the lead in series if the lead is not compensated, and round to their resolution. A reading never changes
the plant: its noise is a function of seed, probe and time.
"""

from __future__ import annotations

from collections.abc import Sequence

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.compiled import Names
from plants.kernel.describe import Fault, FaultSize, Parameter, Probe
from plants.kernel.network import Level
from plants.parts.part import Part
from plants.parts.pt100 import pt100_ohm, pt100_temperature

AIR_LAG = 4.5
"""Lag in air over lag in water: a 6 mm resistance probe, t50 46.8 s and 10.4 s (maker's table)."""

_UNITS = ("mdegC", "mdegF", "mohm")


def parameters() -> tuple[Parameter, ...]:
    """What can be set on the electronics of all temperature probes."""
    return (
        Parameter(
            "probe_resolution", "K", 0.01, 0.001, 1.0, "assumed", "step of the readings in mdegC and mdegF"
        ),
        Parameter("probe_noise", "K", 0.01, 0.0, 2.0, "assumed", "standard deviation of one reading"),
        Parameter(
            "lead_resistance", "ohm", 0.0, 0.0, 20.0, "assumed", "lead that the electronics do not compensate"
        ),
    )


def lag_parameter(name: str, seconds: float) -> Parameter:
    """The lag of one probe."""
    about = f"time constant of the {name} probe in water, with its thermowell"
    return Parameter(
        f"{name}_lag", "s", seconds, 0.1, 120.0, "assumed; 6 mm bare t63 15 s (maker's table)", about
    )


class Thermometer(Part):
    """A Pt100; `at` is the level around it and its start, `room` what it reads out of its well."""

    saved = ("healthy", "_open", "_short", "_held", "_offset", "_drift", "_drift_from_ms", "_out")

    def __init__(
        self,
        net: Builder,
        name: str,
        about: str,
        at: tuple[Level, float],
        room: Level,
        setup: dict[str, float],
    ) -> None:
        self.name, self._net = name, net
        self._per_second = 1.0 / setup[f"{name}_lag"]
        self._step = max(1, round(setup["probe_resolution"] * 1000))
        self._sigma, self._lead = setup["probe_noise"], setup["lead_resistance"]
        level, start = at
        self.sensor = net.follower(f"{name} sensor", level, self._in_well, start)
        net.follow(self.sensor, room, self._in_air)
        self.healthy = True
        self._open = self._short = self._out = False
        self._held: float | None = None
        self._offset = self._drift = 0.0
        self._drift_from_ms = 0
        net.parts.append(self)
        net.probe(Probe(name, about, _UNITS), self.text)

    def _in_well(self) -> float:
        return 0.0 if self._out else self._per_second

    def _in_air(self) -> float:
        return self._per_second / AIR_LAG if self._out else 0.0

    def text(self, names: Names, unit: str, noise: str) -> str:
        """The reading in `unit` as an expression."""
        value = f"x[{self.sensor.index}]" + (f" + {noise}*{self._sigma!r}" if self._sigma else "")
        me = names.of(self)
        if unit == "mohm":
            good = f"round({names.of(pt100_ohm)}({value})*1000.0 + {self._lead * 1000.0!r})"
        else:
            seen = f"{names.of(self.with_lead)}({value})" if self._lead else f"({value})"
            good = f"round({seen}*{1000.0 / self._step!r})*{self._step}"
            good = f"round({good}*1.8 + 32000.0)" if unit == "mdegF" else good
        return f"({good} if {me}.healthy else {me}.faulty({value}, {unit!r}))"

    def with_lead(self, temp: float) -> float:
        """What electronics that know nothing of the lead take `temp` for [degC]."""
        return pt100_temperature(pt100_ohm(temp) + self._lead)

    def faulty(self, temp: float, unit: str) -> int | None:
        """The reading while a fault is in force; None with an open circuit."""
        if self._open:
            return None
        if self._held is not None:
            temp = self._held
        temp += self._offset + self._drift * (self._net.queue.now_ms - self._drift_from_ms) / 3.6e6
        ohm = self._lead + (0.0 if self._short else pt100_ohm(temp))
        if unit == "mohm":
            return round(ohm * 1000.0)
        seen = round(pt100_temperature(ohm) * 1000.0 / self._step) * self._step
        return round(seen * 1.8 + 32000.0) if unit == "mdegF" else seen

    def _mine(self, active: Sequence[ActiveFault]) -> list[ActiveFault]:
        return [fault for fault in active if fault.place == self.name]

    def change(self, kind: str, active: Sequence[ActiveFault]) -> None:
        """Take over the faults of one kind that are in force."""
        mine = self._mine(active)
        if kind == "probe-open":
            self._open = bool(mine)
        elif kind == "probe-short":
            self._short = bool(mine)
        elif kind == "probe-out-of-well":
            self._out = bool(mine)
        elif kind == "probe-frozen":
            self._held = (self._net.x(self.sensor) if self._held is None else self._held) if mine else None
        elif kind == "probe-offset":
            self._offset = sum(fault.sizes["offset"] for fault in mine)
        elif kind == "probe-drift":
            self._drift_from_ms = self._net.queue.now_ms if not self._drift else self._drift_from_ms
            self._drift = sum(fault.sizes["rate"] for fault in mine)
        wrong = self._offset or self._drift or self._held is not None
        self.healthy = not (self._open or self._short or wrong)


_FAULTS = (
    ("probe-open", (), "a broken wire or a plug that has come off: no reading",
     "a controller that takes no reading for cold heats without end"),
    ("probe-short", (), "water in the plug or a crushed cable: the circuit reads no resistance",
     "a reading far below freezing, taken for cold water, heats without end"),
    ("probe-frozen", (), "hung electronics: the reading stays where it was",
     "the loop no longer sees what it heats"),
    ("probe-out-of-well", (), "the probe has slipped out of its well and hangs in the room",
     "the loop heats the tank to reach a temperature that it does not measure"),
    ("probe-offset", (FaultSize("offset", "K", -5.0, -200.0, 200.0, "added to the true value"),),
     "wrong sensor curve, lead resistance, a probe that touches the wall",
     "all limits on this probe are off by so much"),
    ("probe-drift", (FaultSize("rate", "K/h", -10.0, -1000.0, 1000.0, "growth of the error"),),
     "moisture creeping into the sensor", "an error that grows too slowly for a rate check"),
)  # fmt: skip


def offer_probe_faults(net: Builder, probes: Sequence[Thermometer]) -> None:
    """Add the faults of all temperature probes of a plant."""
    places = tuple(probe.name for probe in probes)
    for kind, sizes, about, hazard in _FAULTS:

        def change(active: Sequence[ActiveFault], kind: str = kind) -> None:
            for probe in probes:
                probe.change(kind, active)

        net.fault(Fault(kind, places, sizes, about, hazard), change)


def offer_switch(net: Builder, name: str, about: str, owner: object, attribute: str) -> None:
    """Add a yes-or-no probe that reads what a part holds."""
    net.probe(
        Probe(name, about, ("bool",)), lambda names, unit, noise: f"1 if {names.of(owner)}.{attribute} else 0"
    )
