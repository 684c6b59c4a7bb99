"""An electric heater behind a relay: a heating coil in a kiln, a heater belt round a fermenter."""

from __future__ import annotations

from collections.abc import Sequence

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault, FaultSize
from plants.kernel.network import Place
from plants.parts.part import Part
from plants.parts.relay import Relay

_OPEN = (
    "element-open", (), "a wire has burnt through or a plug has come off: no heat",
    "full demand without effect: the controller must notice and say so",
)  # fmt: skip
_WORN = (
    "element-worn",
    (FaultSize("fraction", "%", 75.0, 10.0, 100.0, "share of the power that is left", nothing=100.0),),
    "the wire's resistance has risen with its age, or the mains is low",
    "a ramp that can no longer be followed: a firing that never ends",
)  # fmt: skip


class Heater(Part):
    """`watts` into a place while the relay is closed and the wire is whole."""

    saved = ("_broken", "_share")

    def __init__(self, net: Builder, name: str, into: Place, watts: float, relay: Relay) -> None:
        self.name, self.actuator, self._net = name, relay.actuator, net
        self._full, self._relay = watts, relay
        self._broken, self._share = False, 1.0
        self.heat = net.heat_source(f"{name} heat", into, self.watts)
        net.parts.append(self)

    def watts(self) -> float:
        """Heat now [W]."""
        for kind, failed in (("element-open", self._broken), ("element-worn", self._share < 1.0)):
            if failed and self._relay.closed:
                self._net.acts(kind, self.name)
        return 0.0 if self._broken else self._full * self._share * self._relay.share

    def break_wire(self, active: Sequence[ActiveFault]) -> None:
        """Take over the breaks in force."""
        self._broken = any(fault.place == self.name for fault in active)

    def wear(self, active: Sequence[ActiveFault]) -> None:
        """Take over the wear in force."""
        left = [fault.sizes["fraction"] for fault in active if fault.place == self.name]
        self._share = min(left, default=100.0) / 100.0


def offer_heater_faults(net: Builder, heaters: Sequence[Heater]) -> None:
    """Add the faults of all heaters of a plant, each in its place."""
    places = tuple(heater.name for heater in heaters)
    behind = tuple(heater.actuator for heater in heaters)

    def break_wires(active: Sequence[ActiveFault]) -> None:
        for heater in heaters:
            heater.break_wire(active)

    def wear(active: Sequence[ActiveFault]) -> None:
        for heater in heaters:
            heater.wear(active)

    for (kind, sizes, about, hazard), change in ((_OPEN, break_wires), (_WORN, wear)):
        net.fault(Fault(kind, places, sizes, about, hazard, True, behind), change)
