"""What a person or a leak does to vessels: water poured in, run off or moved to another, a lid taken off.

Water that is poured in brings its heat along, and water that runs off takes its own; both stand in the books
as brought. What is moved from one vessel to another stays in the plant. There is no brim: a vessel takes
whatever is poured.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault, FaultSize
from plants.kernel.network import level_of
from plants.media.water import SPECIFIC_HEAT, density
from plants.parts.outflow import Outflow, Ways
from plants.parts.part import Part
from plants.parts.room import Room
from plants.parts.vessel import Vessel

_POURED = (
    (FaultSize("volume", "L", 5.0, 0.1, 50.0, "poured in"),
     FaultSize("temperature", "degC", 12.0, 0.0, 100.0, "of that water"),
     FaultSize("over", "s", 20.0, 1.0, 3600.0, "time the pouring takes; it is not broken off")),
    "a person tops up, or a refill valve opens",
    "the loop answers a sudden drop with full heat and overshoots; a rate check may take it for a bad probe",
)  # fmt: skip
_RUN_OFF = (
    (FaultSize("flow", "L/min", 3.0, 0.05, 30.0, "that runs off", nothing=0.0),
     FaultSize("down_to", "L", 2.0, 1.0, 300.0, "content at which nothing more runs off")),
    "a tap left open, a hose that has come off, a boil that goes on for too long",
    "the same heat on ever less water; probes and elements come to hang in the air",
)  # fmt: skip
_MOVED = (
    (FaultSize("flow", "L/min", 3.0, 0.05, 30.0, "that is moved", nothing=0.0),
     FaultSize("down_to", "L", 10.0, 1.0, 300.0, "content of the first vessel at which nothing more flows")),
    "sparging, topping up or emptying: a person or a second pump moves water from one vessel to the other",
    "one vessel heats faster than its loop was tuned for, the other drops; an overflow the plant cannot show",
)  # fmt: skip
_LID = (
    (), "somebody has taken the lid off",
    "a hot open surface evaporates: more heat is needed, the room fills with steam",
)  # fmt: skip


class Filling(Part):
    """Water that flows into one vessel; what runs off shares its entry in the books."""

    saved = ("_pours", "_begun")

    def __init__(self, net: Builder, vessel: Vessel, ways: Ways) -> None:
        self._net, self._vessel = net, vessel
        self._pours: list[tuple[int, float, float]] = []
        self._begun = 0
        self.leak = leak = Outflow(
            net, vessel, f"{vessel.name} drained", net.brought, f"{vessel.name}: nothing more runs off", ways
        )
        ways.feeds.append(lambda: sum(pour[1] for pour in self._pours))
        water, heat = net.input(f"{vessel.name} filled", 0.0), net.input(f"{vessel.name} fill heat", 0.0)
        net.input_values.append((water, lambda: sum(pour[1] for pour in self._pours) - leak.flow))
        net.input_values.append((heat, lambda: sum(pour[1] * pour[2] for pour in self._pours)))
        net.transfer(level_of(water), 1.0, net.water_brought, vessel.water)
        net.transfer(level_of(heat), 1.0, net.brought, vessel.place.heat)
        net.queue.handle(f"{vessel.name} poured", self._poured)
        net.parts.append(self)

    def pour(self, active: Sequence[ActiveFault]) -> None:
        """Begin to pour when one more addition is in force."""
        begun, self._begun = len(active) > self._begun, len(active)
        if not begun:
            return
        size, queue = active[-1].sizes, self._net.queue
        over_ms = max(1, round(size["over"] * 1000.0))
        kg = size["volume"] * 0.001 * density(size["temperature"])
        until, flow = queue.now_ms + over_ms, kg / (over_ms * 0.001)
        self._pours = [*self._pours, (until, flow, SPECIFIC_HEAT * size["temperature"])]
        queue.after(over_ms, f"{self._vessel.name} poured")
        self.leak.plan()

    def _poured(self, _: float) -> None:
        self._pours = [pour for pour in self._pours if pour[0] > self._net.queue.now_ms]
        self.leak.plan()


def _asked(active: Sequence[ActiveFault], place: str) -> tuple[float, float]:
    """The largest flow asked for at a place [kg/s], and the least content it is to come down to [kg]."""
    mine = [fault.sizes for fault in active if fault.place == place]
    kg_per_l = 0.001 * density(20.0)
    flow = max((size["flow"] for size in mine), default=0.0) / 60.0 * kg_per_l
    return flow, min((size["down_to"] for size in mine), default=0.0) * kg_per_l


def _moves(net: Builder, one: Vessel, other: Vessel, ways: dict[str, Ways]) -> dict[str, Outflow]:
    """Transfers between two vessels, there and back, by the names of their places."""
    made = {}
    for source, into in ((one, other), (other, one)):
        made[f"{source.name}-to-{into.name}"] = Outflow(
            net, source, f"{source.name} to {into.name}", into.place.heat,
            f"{source.name}: nothing more goes to {into.name}", ways[source.name], ways[into.name],
        )  # fmt: skip
    there, back = made.values()
    water = net.input(f"{one.name} to {other.name}", 0.0)
    net.input_values.append((water, lambda: there.flow - back.flow))
    net.transfer(level_of(water), 1.0, one.water, other.water)
    return made


def offer_vessel_changes(net: Builder, room: Room, vessels: Sequence[Vessel]) -> None:
    """Add additions, leaks, transfers, lids and the draught over them to the vessels of a plant."""
    places = tuple(vessel.name for vessel in vessels)
    ways = {name: Ways() for name in places}
    fillings = {vessel.name: Filling(net, vessel, ways[vessel.name]) for vessel in vessels}
    moves: dict[str, Outflow] = {}
    for one, other in combinations(vessels, 2):
        moves |= _moves(net, one, other, ways)

    def pour(active: Sequence[ActiveFault]) -> None:
        for name, filling in fillings.items():
            filling.pour([fault for fault in active if fault.place == name])

    def run_off(active: Sequence[ActiveFault]) -> None:
        for name, filling in fillings.items():
            filling.leak.want(*_asked(active, name))

    def move(active: Sequence[ActiveFault]) -> None:
        for name, way in moves.items():
            way.want(*_asked(active, name))

    def uncover(active: Sequence[ActiveFault]) -> None:
        for vessel in vessels:
            vessel.expose(room.speed, any(fault.place == vessel.name for fault in active))

    def blow() -> None:
        for vessel in vessels:
            vessel.expose(room.speed)

    room.listeners.append(blow)
    net.fault(Fault("cold-water-added", places, *_POURED), pour)
    net.fault(Fault("vessel-runs-low", places, *_RUN_OFF), run_off)
    if moves:
        net.fault(Fault("water-moved", tuple(moves), *_MOVED), move)
    net.fault(Fault("lid-off", places, *_LID), uncover)
