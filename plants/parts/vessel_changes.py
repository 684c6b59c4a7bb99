"""What a person or a leak does to vessels: water poured in, water run off, a lid taken off.

Water that is poured in brings its heat along, and water that runs off takes its own; both stand in the books
as brought. There is no brim: a vessel takes whatever is poured.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault, FaultSize
from plants.kernel.network import level_of
from plants.media.water import SPECIFIC_HEAT, density
from plants.parts.part import Part
from plants.parts.room import Room
from plants.parts.vessel import Vessel

_ENOUGH_KG = 1e-6
_Change = Callable[[Sequence[ActiveFault]], None]

_POURED = (
    (FaultSize("volume", "L", 5.0, 0.1, 50.0, "poured in"),
     FaultSize("temperature", "degC", 12.0, 0.0, 95.0, "of that water"),
     FaultSize("over", "s", 20.0, 1.0, 3600.0, "time the pouring takes; it is not broken off")),
    "a person tops up, or a refill valve opens",
    "the loop answers a sudden drop with full heat and overshoots; a rate check may take it for a bad probe",
)  # fmt: skip
_RUN_OFF = (
    (FaultSize("flow", "L/min", 3.0, 0.05, 30.0, "that runs off", nothing=0.0),
     FaultSize("down_to", "L", 2.0, 1.0, 300.0, "content at which nothing more runs off")),
    "a tap left open, a hose that has come off, a transfer to another vessel",
    "the same heat on ever less water; probes and elements come to hang in the air",
)  # fmt: skip
_LID = (
    (), "somebody has taken the lid off",
    "a hot open surface evaporates: more heat is needed, the room fills with steam",
)  # fmt: skip


class Filling(Part):
    """Water that flows into one vessel or out of it."""

    saved = ("_pours", "_begun", "_wanted", "_leak", "_down_kg", "_drained", "_told")

    def __init__(self, net: Builder, vessel: Vessel) -> None:
        self._net, self._vessel = net, vessel
        self._pours: list[tuple[int, float, float]] = []
        self._begun, self._wanted, self._leak, self._down_kg, self._drained = 0, 0.0, 0.0, 0.0, 0
        self._told = False
        water, heat = net.input(f"{vessel.name} filled", 0.0), net.input(f"{vessel.name} fill heat", 0.0)
        net.input_values.append((water, lambda: sum(pour[1] for pour in self._pours) - self._leak))
        net.input_values.append((heat, lambda: sum(pour[1] * pour[2] for pour in self._pours)))
        net.transfer(level_of(water), 1.0, net.water_brought, vessel.water)
        net.transfer(level_of(heat), 1.0, net.brought, vessel.place.heat)
        net.transfer(vessel.place.level, lambda: self._leak * SPECIFIC_HEAT, vessel.place.heat, net.brought)
        net.queue.handle(f"{vessel.name} poured", self._poured)
        net.queue.handle(f"{vessel.name} drained", self._plan)
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

    def _poured(self, _: float) -> None:
        self._pours = [pour for pour in self._pours if pour[0] > self._net.queue.now_ms]
        self._plan()

    def run_off(self, active: Sequence[ActiveFault]) -> None:
        """Let water run off at the largest flow asked for, down to the least content."""
        kg_per_l = 0.001 * density(20.0)
        self._wanted = max((fault.sizes["flow"] for fault in active), default=0.0) / 60.0 * kg_per_l
        self._down_kg = min((fault.sizes["down_to"] for fault in active), default=0.0) * kg_per_l
        self._plan()

    def _plan(self, _: float = 0.0) -> None:
        over = self._net.x(self._vessel.water) - self._down_kg
        self._leak = self._wanted if over > _ENOUGH_KG else 0.0
        self._net.queue.cancel(self._drained)
        if self._leak:
            wait_ms = ceil(over / self._leak * 1000.0)
            self._drained = self._net.queue.after(wait_ms, f"{self._vessel.name} drained")
            self._told = False
        elif self._wanted and not self._told:
            self._told = True
            self._net.tell(f"{self._vessel.name}: nothing more runs off")


def offer_vessel_changes(net: Builder, room: Room, vessels: Sequence[Vessel]) -> None:
    """Add additions, leaks, lids and the draught over them to the vessels of a plant."""
    places = tuple(vessel.name for vessel in vessels)
    fillings = {vessel.name: Filling(net, vessel) for vessel in vessels}

    def each(act: Callable[[Filling, Sequence[ActiveFault]], None]) -> _Change:
        def change(active: Sequence[ActiveFault]) -> None:
            for name, filling in fillings.items():
                act(filling, [fault for fault in active if fault.place == name])

        return change

    def uncover(active: Sequence[ActiveFault]) -> None:
        for vessel in vessels:
            vessel.expose(room.speed, any(fault.place == vessel.name for fault in active))

    def blow() -> None:
        for vessel in vessels:
            vessel.expose(room.speed)

    room.listeners.append(blow)
    net.fault(Fault("cold-water-added", places, *_POURED), each(Filling.pour))
    net.fault(Fault("vessel-runs-low", places, *_RUN_OFF), each(Filling.run_off))
    net.fault(Fault("lid-off", places, *_LID), uncover)
