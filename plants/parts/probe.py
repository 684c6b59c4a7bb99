"""Probes: a temperature sensor in a thermowell with its electronics, and yes-or-no signals.

The sensor follows what is around it with a first-order lag, which a faster flow shortens, and its stem draws
it towards the room. What its electronics make of it depends on its kind: see `plants/sensors/inputs.py`. A
reading never changes the plant: its noise is a function of seed, probe and time.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.compiled import Names
from plants.kernel.describe import Parameter, Probe
from plants.kernel.network import Level
from plants.kernel.noise import draw
from plants.parts import probe_kinds
from plants.parts.part import Part
from plants.parts.probe_errors import ReadingErrors
from plants.sensors import digital
from plants.sensors.inputs import TEMPERATURES, DigitalInput, ResistanceInput
from plants.sensors.response import TABLE_SPEED, lag, stem_share

AIR_LAG = 4.5
"""Lag in air over lag in water: a 6 mm resistance probe, t50 46.8 s and 10.4 s (maker's table)."""


def parameters(kinds: Sequence[str] = probe_kinds.KINDS) -> tuple[Parameter, ...]:
    """What can be set on all temperature probes of a plant that offers these kinds."""
    return (
        Parameter(
            "probe_resolution", "K", 0.01, 0.001, 1.0, "assumed", "step of the readings in mdegC and mdegF"
        ),
        Parameter("probe_noise", "K", 0.01, 0.0, 2.0, "assumed", "standard deviation of one reading"),
        Parameter("probe_diameter", "mm", 6.0, 1.0, 20.0, "assumed", "of the sheaths"),
        *probe_kinds.parameters(kinds),
    )  # fmt: skip


def lag_parameter(name: str, seconds: float) -> Parameter:
    """The lag of one probe."""
    about = f"time constant of the {name} probe in water at 0.2 m/s, with its thermowell"
    return Parameter(
        f"{name}_lag", "s", seconds, 0.1, 120.0, "assumed; 6 mm bare t63 15 s (maker's table)", about
    )


def immersion_parameter(name: str) -> Parameter:
    """How deep one probe sits in the water."""
    about = f"length of the {name} probe that is in the water; a short one reads towards the room"
    return Parameter(f"{name}_immersion", "mm", 100.0, 0.0, 500.0, "assumed", about)


class Thermometer(Part):
    """A temperature probe; `at` is the level around it and its start, `room` that of its electronics.

    `speed` gives the speed of the water past it [m/s]; without it the stated lag holds. Its stem is in the
    room, and so is the probe once it is out of its well, unless `hangs_in` says otherwise. The plant's
    choices `NAME_kind`, `NAME_class`, `NAME_sheath` say what it is.
    """

    saved = ("healthy", "code", "_open", "_short", "_wrong", "_out", "_partner", "_conversion")

    def __init__(
        self,
        net: Builder,
        name: str,
        about: str,
        at: tuple[Level, float],
        room: Level,
        setup: dict[str, float],
        speed: Callable[[], float] | None = None,
        hangs_in: Level | None = None,
    ) -> None:
        self.name, self._net, self._room, self._speed = name, net, room, speed
        kind = net.choices.get(f"{name}_kind", "pt100")
        self.input = probe_kinds.input_of(kind, setup, net.choices)
        self._tolerance = probe_kinds.tolerance_of(name, kind, net.choices.get(f"{name}_class", "none"))
        self._place = 2.0 * draw(net.seed, f"{name} tolerance", 0) - 1.0
        self._own_heat: Callable[[float], float] | None = None
        if isinstance(self.input, ResistanceInput) and self.input.current:
            self._own_heat = self.input.own_heat
        self._lag, self._diameter = probe_kinds.sheath_of(name, setup, net.choices)
        self._immersion = setup.get(f"{name}_immersion", inf)
        self._rates_at: tuple[float | None, float, float] = (inf, 0.0, 0.0)
        is_digital = isinstance(self.input, DigitalInput)
        self._step = 1 if is_digital else max(1, round(setup["probe_resolution"] * 1000))
        self._sigma = setup["probe_noise"]
        self.errors = ReadingErrors(net.seed, name)
        self.siblings: dict[str, Thermometer] = {}
        self.healthy, self._partner = True, name
        self._open = self._short = self._wrong = self._out = False
        level, start = at
        self.sensor = net.follower(f"{name} sensor", level, self._in_well, start)
        net.follow(self.sensor, hangs_in or room, self._in_air)
        net.parts += [self, self.errors]
        net.probe(Probe(name, about, self.input.units), self.text)
        self.code, self._conversion = digital.POWER_ON, 0
        if is_digital:
            net.queue.handle(f"{name} conversion", self._convert)
            self._begin_conversion()

    # following

    def _rates(self) -> tuple[float, float]:
        """How fast it follows the water and the room [1/s]."""
        if self._out:
            return 0.0, 1.0 / self._lag / AIR_LAG
        speed = self._speed() if self._speed else None
        if self._rates_at[0] != speed:
            at = TABLE_SPEED if speed is None else speed
            rate = 1.0 / (self._lag if speed is None else lag(self._lag, self._diameter, at))
            share = stem_share(self._immersion, self._diameter, at)
            self._rates_at = (speed, rate * (1.0 - share), rate * share)
        return self._rates_at[1:]

    def _in_well(self) -> float:
        return self._rates()[0]

    def _in_air(self) -> float:
        return self._rates()[1]

    # converting (digital probes)

    def _begin_conversion(self) -> None:
        if isinstance(self.input, DigitalInput):
            time_ms = digital.CONVERSION_MS[self.input.bits]
            self._conversion = self._net.queue.after(time_ms, f"{self.name} conversion")

    def _convert(self, _: float) -> None:
        self.code = int(self.input.raw(self._sensed(), 0.0))
        self._begin_conversion()

    def _restart(self, running: bool) -> None:
        """The supply fails (the power-on code stands) or is back (a first conversion begins)."""
        self._net.queue.cancel(self._conversion)
        self.code = digital.POWER_ON
        if running:
            self._begin_conversion()

    # reading

    def _sensed(self) -> float:
        """Temperature [degC] for which the sensor gives its signal: tolerance and own heat included."""
        temp = self._net.x(self.sensor)
        error = self._tolerance.error(temp, self._place) if self._tolerance else 0.0
        return temp + error + (self._own_heat(temp) if self._own_heat else 0.0)

    def _sent(self) -> float:
        """The same, for a digital probe at its last conversion."""
        return self.code / 16.0 if self.input.kind == "code" else self._sensed()

    def _sensed_text(self, names: Names, noise: str) -> str:
        if self.input.kind == "code":
            return f"{names.of(self)}.code*0.0625"
        text = f"x[{self.sensor.index}]"
        error = f"{names.of(self._tolerance.error)}({text}, {self._place!r})" if self._tolerance else ""
        noisy = f"{noise}*{self._sigma!r}" if self._sigma else ""
        warm = f"{names.of(self._own_heat)}({text})" if self._own_heat else ""
        return " + ".join(term for term in (text, error, noisy, warm) if term)

    def text(self, names: Names, unit: str, noise: str) -> str:
        """The reading in `unit` as an expression over x and t."""
        value, room, me = self._sensed_text(names, noise), self._room.text(), names.of(self)
        if unit not in TEMPERATURES:
            good = f"{names.of(self.input.converter(unit))}({names.of(self.input.raw)}({value}, {room}))"
        else:
            exact = self.input.exact or self.input.kind == "code"
            seen = f"({value})" if exact else f"{me}.seen({value}, {room})"
            good = f"round({seen}*{1000.0 / self._step!r})*{self._step}"
            good = f"round({good}*1.8 + 32000.0)" if unit == "mdegF" else good
        return f"({good} if {me}.healthy else {me}.faulty({value}, {room}, {unit!r}, t))"

    def seen(self, temp: float, room: float) -> float:
        """What a transmitter shows for a sensor at `temp` [degC]."""
        return self.input.shown(self.input.raw(temp, room), room)

    def faulty(self, temp: float, room: float, unit: str, time_ms: int) -> int | None:
        """The reading while a fault is in force; None where there is none."""
        raw = None if self._open else self._arriving(self.errors.applied(temp, time_ms), room)
        if raw is None:
            return self.input.broken(unit)
        if unit not in TEMPERATURES:
            return self.input.converter(unit)(raw)
        shown = self.input.mistaken(raw, room) if self._wrong else self.input.shown(raw, room)
        milli = round(shown * 1000.0 / self._step) * self._step
        return round(milli * 1.8 + 32000.0) if unit == "mdegF" else milli

    def _arriving(self, temp: float, room: float) -> float | None:
        """What reaches the electronics; another probe's sensor may be plugged in."""
        if self._short:
            return self.input.shorted()
        if self._partner == self.name:
            return self.input.raw(temp, room)
        other = self.siblings[self._partner]
        if other.input.kind == self.input.kind:
            return other.input.raw(other._sent() + temp - self._sent(), room)
        return None if "code" in (other.input.kind, self.input.kind) else self.input.shorted()

    # failing

    def change(self, kind: str, active: Sequence[ActiveFault]) -> None:
        """Take over the faults of one kind that are in force."""
        mine = [fault for fault in active if fault.place == self.name]
        if kind == "probe-open":
            self._open = bool(mine)
        elif kind == "probe-short":
            self._short = bool(mine)
        elif kind == "probe-wrong-curve":
            self._wrong = bool(mine)
        elif kind == "probe-out-of-well":
            self._out = bool(mine)
        elif kind == "probe-frozen":
            held = self.errors.held
            self.errors.held = (self._sent() if held is None else held) if mine else None
        elif kind == "probes-swapped":
            self._partner = _partner(self.name, active)
        else:
            restarts = (self.errors.power_on is None) == bool(mine)
            self.errors.change(kind, mine, self._net.queue.now_ms)
            if kind == "probe-power-on" and restarts:
                self._restart(running=not mine)
        plugged = self._partner == self.name
        self.healthy = plugged and not (self._open or self._short or self._wrong or self.errors.any)


def _partner(name: str, active: Sequence[ActiveFault]) -> str:
    """Whose sensor is plugged in where `name` belongs, after all swaps in their order."""
    plugged = name
    for fault in reversed(active):
        pair = (fault.place or "").split("+")
        if plugged in pair:
            plugged = pair[1 - pair.index(plugged)]
    return plugged


def offer_switch(net: Builder, name: str, about: str, owner: object, attribute: str) -> None:
    """Add a yes-or-no probe that reads what a part holds."""
    net.probe(
        Probe(name, about, ("bool",)), lambda names, unit, noise: f"1 if {names.of(owner)}.{attribute} else 0"
    )
