"""An immersion element: its sheath, how far water covers it, and what becomes of it in the air.

The sheath gives its heat to the water over the part that is covered, and over the rest to the air, by
convection and radiation. It burns out for good when it passes its limit. What a low supply does: power goes
with the square of the voltage.

The covered share goes smoothly from all to none between two contents of the vessel. The step of the stepping
holds it, as it was, in its matrices; what has changed since is a rate.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.compiled import Names
from plants.kernel.describe import Fault, FaultSize, Parameter, Probe
from plants.kernel.network import level_of
from plants.media.water import SPECIFIC_HEAT
from plants.parts.part import Part
from plants.parts.relay import Relay
from plants.parts.room import Room
from plants.parts.vessel import Vessel

KG_PER_L = 0.98
"""Content in kg for the levels that are stated in L; right at 65 degC."""
_RADIATION, _EMISSIVITY, _CONVECTION = 5.670374419e-8, 0.85, 10.0
"""Stefan and Boltzmann; oxidised steel, common practice; still air [W/m2 K], common practice, no source."""
_RENEW, _WATCH_K, _WATCH_MS = 0.02, 150.0, 100

_OPEN = Fault(
    "element-open", (), (), "a burnt-out wire or a loose terminal: no current",
    "the controller drives, nothing warms: it must not wind up, and must say so",
    lurks=True, actuators=("relay",),
)  # fmt: skip
_LOW = Fault(
    "low-supply-voltage", (),
    (FaultSize("voltage", "%", 75.0, 10.0, 120.0, "of what the supply should give", nothing=100.0),),
    "a long thin cable, or too much else on the line", "heating takes far longer; a boil is never reached",
    lurks=True, actuators=("relay",),
)  # fmt: skip


def parameters(kw: float = 5.5) -> tuple[Parameter, ...]:
    """What can be set on an immersion element of `kw` at its rated voltage."""
    return (
        Parameter("element_power", "kW", kw, 0.2, 20.0, "assumed", "of the element at its rated voltage"),
        Parameter("element_rated", "V", 230.0, 100.0, 480.0, "assumed", "rated voltage of the element"),
        Parameter("supply", "V", 230.0, 80.0, 480.0, "IEC 60038: 230 V, 10 % either way", "mains"),
        Parameter("sheath_heat", "kJ/K", 0.35, 0.1, 5.0, "assumed", "heat capacity of the element"),
        Parameter(
            "sheath_exchange", "W/K", 350.0, 20.0, 5000.0, "assumed: 16 K over the water at 5.5 kW",
            "from the whole sheath into water",
        ),
        Parameter(
            "sheath_area", "m2", 0.06, 0.005, 1.0, "assumed: 9 W/cm2 at 5.5 kW", "surface of the sheath"
        ),
        Parameter("sheath_limit", "degC", 800.0, 150.0, 1200.0, "assumed", "at which the element burns out"),
        Parameter("element_bare", "L", 4.0, 0.3, 100.0, "assumed", "content that leaves the element bare"),
        Parameter(
            "element_height", "L", 2.0, 0.2, 50.0, "assumed", "content from a bare to a covered element"
        ),
    )  # fmt: skip


class Element(Part):
    """Heats the water of `vessel` while its relay is closed.

    Attributes
    ----------
    current : whether current flows.
    burnt : whether it has burnt out.
    """

    saved = ("burnt", "_broken", "_supply", "_frozen", "_alert_j")

    def __init__(
        self, net: Builder, vessel: Vessel, room: Room, setup: dict[str, float], relay: Relay
    ) -> None:
        self._net, self._vessel, self._relay = net, vessel, relay
        self._capacity = setup["sheath_heat"] * 1000.0
        self._ua, self._area = setup["sheath_exchange"], setup["sheath_area"]
        self._limit, self._watts = setup["sheath_limit"], setup["element_power"] * 1000.0
        self._bare, self._height = setup["element_bare"], setup["element_height"]
        self._volts, self._supply = setup["supply"] / setup["element_rated"], 1.0
        self.burnt = self._broken = False
        self._alert_j = (self._limit - _WATCH_K) * self._capacity
        self._frozen = self.covered(vessel.start_kg)
        self.sheath = net.node("sheath", self._capacity, vessel.start)
        self.heat = net.heat_source("element heat", self.sheath, self.watts)
        net.conduct(self.sheath, vessel.place, lambda: self._ua * self._frozen)
        arguments = (self.sheath.heat, vessel.place.heat, vessel.water, room.air)
        into_water, into_air = net.rate_text(self._rates, arguments, "sheath to water", "sheath to air")
        net.transfer(level_of(into_water), 1.0, self.sheath.heat, vessel.place.heat)
        net.transfer(level_of(into_air), 1.0, self.sheath.heat, net.lost)
        net.touchy.append(lambda: self._frozen < 1.0)
        net.refreeze.append(self._refreeze)
        net.queue.handle("element watch", self._watch)
        net.parts.append(self)
        net.fault(_OPEN, self._break)
        net.fault(_LOW, self._sag)

    @property
    def current(self) -> bool:
        """Whether current flows through the element."""
        return self._relay.closed and not (self.burnt or self._broken)

    def watts(self) -> float:
        """Power now [W]."""
        if self._broken and self._relay.closed:
            self._net.acts("element-open")
        if not self.current:
            return 0.0
        if self._supply != 1.0:
            self._net.acts("low-supply-voltage")
        return self._watts * (self._volts * self._supply) ** 2 * self._relay.share

    def covered(self, kg: float) -> float:
        """Share of the sheath that water covers when the vessel holds `kg`."""
        part = min(max((kg / KG_PER_L - self._bare) / self._height, 0.0), 1.0)
        return part * part * (3.0 - 2.0 * part)

    def _rates(self, names: Names, given: Sequence[str], results: Sequence[str]) -> list[str]:
        """Heat into the water beyond the frozen share [W], and into the air [W]; none where it is covered."""
        (sheath, water, kg, room), (into_water, into_air), me = given, results, names.of(self)
        full = (self._bare + self._height) * KG_PER_L
        return [
            f"if {kg} > {full!r} and {me}._frozen == 1.0 and {sheath} < {me}._alert_j:",
            f"    {into_water} = {into_air} = 0.0",
            "else:",
            f"    {into_water}, {into_air} = {names.of(self.uncovered)}({sheath}, {water}, {kg}, {room})",
        ]

    def uncovered(self, sheath: float, water: float, kg: float, room: float) -> tuple[float, float]:
        """The same where a part of the sheath may be in the air, or is hot."""
        hot, share = sheath / self._capacity, self.covered(kg)
        wet = water / (self._vessel.wall + kg * SPECIFIC_HEAT)
        if sheath > self._alert_j or abs(share - self._frozen) > _RENEW:
            self._net.stale = True
        bare = (1.0 - share) * self._area
        glow = _EMISSIVITY * _RADIATION * ((hot + 273.15) ** 4 - (room + 273.15) ** 4) if bare else 0.0
        return self._ua * (share - self._frozen) * (hot - wet), bare * (_CONVECTION * (hot - room) + glow)

    def covered_text(self, names: Names) -> str:
        """Share of the sheath in water [%] over x."""
        return f"100.0*{names.of(self.covered)}(x[{self._vessel.water.index}])"

    def _refreeze(self, x: list[float]) -> None:
        self._frozen = self.covered(x[self._vessel.water.index])
        if x[self.sheath.heat.index] > self._alert_j:
            self._alert_j = inf
            self._plan_watch()

    def _plan_watch(self) -> None:
        """Look again at the next full tenth of a second, whatever the steps are."""
        self._net.queue.after(_WATCH_MS - self._net.queue.now_ms % _WATCH_MS, "element watch")

    def _watch(self, _: float) -> None:
        hot = self._net.x(self.sheath.heat) / self._capacity
        if hot >= self._limit:
            self.burnt = True
            self._net.tell(f"element burnt out: its sheath has reached {self._limit:g} degC")
        elif hot > self._limit - 2.0 * _WATCH_K:
            self._plan_watch()
        else:
            self._alert_j = (self._limit - _WATCH_K) * self._capacity

    def _break(self, active: Sequence[ActiveFault]) -> None:
        self._broken = bool(active)

    def _sag(self, active: Sequence[ActiveFault]) -> None:
        self._supply = min((fault.sizes["voltage"] for fault in active), default=100.0) / 100.0


class LevelSwitch:
    """Sees water while `vessel` holds more than a content [L]; it hangs at one height."""

    def __init__(self, name: str, vessel: Vessel, at_l: float) -> None:
        self._name, self._vessel, self._kg = name, vessel, at_l * KG_PER_L

    def offer(self, net: Builder) -> None:
        """Add it as a probe."""
        probe = Probe(self._name, "level switch: sees water", ("bool",))
        net.probe(probe, lambda names, unit, noise: f"int(x[{self._vessel.water.index}] > {self._kg!r})")
