"""The room around a plant: its air may warm or cool, and a draught may blow.

A draught cools the outside of a vessel as wind does: its loss grows by (5.7 + 3.8 V) / 5.7 (McAdams, Heat
Transmission, 1954: film in W/m2 K, V in m/s up to 5), and evaporation as the ASHRAE handbook has it, see
`vessel`. The moisture of the air stays.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault, FaultSize, Parameter
from plants.kernel.network import Place, level_of
from plants.parts.part import Part

_CALM, _PER_SPEED = 5.7, 3.8

_DRAUGHT = Fault(
    "draught", (), (FaultSize("speed", "m/s", 2.0, 0.1, 5.0, "of the air over the vessels", nothing=0.0),),
    "a door or a fan: air blows over the vessels",
    "more loss than the controller was tuned for; the hold droops or the heat never suffices",
)  # fmt: skip
_CHANGE = Fault(
    "ambient-change", (),
    (FaultSize("change", "K", -10.0, -40.0, 40.0, "of the room's air"),
     FaultSize("over", "s", 600.0, 1.0, 86400.0, "time it takes, at a steady pace; as long back at its end")),
    "the weather turns, a gate stands open, a heater runs",
    "a slow load on the loop, and electronics that drift with the room",
)  # fmt: skip


def parameters() -> tuple[Parameter, ...]:
    """What can be set on the room."""
    return (
        Parameter("ambient", "degC", 20.0, -20.0, 45.0, "assumed", "air of the room"),
        Parameter("humidity", "%", 50.0, 0.0, 100.0, "assumed", "relative humidity of the room"),
        Parameter(
            "altitude", "m", 0.0, 0.0, 4000.0, "US Standard Atmosphere 1976",
            "sets pressure and boiling point",
        ),
    )  # fmt: skip


class Room(Part):
    """Air at `place`; `listeners` are called whenever its `speed` [m/s] has changed."""

    saved = ("speed", "_pace", "_over_ms", "_change")

    def __init__(self, net: Builder, temp: float) -> None:
        self._net, self._ambient = net, temp
        self.speed = self._pace = 0.0
        self._over_ms, self._change = 1, 0
        self.listeners: list[Callable[[], None]] = []
        self.air = net.state("room", temp, "follower")
        pace = net.input("room changes", 0.0)
        net.input_values.append((pace, lambda: self._pace))
        net.transfer(level_of(pace), 1.0, None, self.air)
        self.place = Place(net.lost, level_of(self.air))
        net.parts.append(self)
        net.queue.handle("room settled", self._settled)
        net.fault(_DRAUGHT, self._blow)
        net.fault(_CHANGE, self._turn)

    def loss(self, conductance: float) -> Callable[[], float]:
        """A loss to the room that grows with the draught [W/K]."""
        return lambda: conductance * (_CALM + _PER_SPEED * self.speed) / _CALM

    def _blow(self, active: Sequence[ActiveFault]) -> None:
        self.speed = max((fault.sizes["speed"] for fault in active), default=0.0)
        for listener in self.listeners:
            listener()

    def _turn(self, active: Sequence[ActiveFault]) -> None:
        target = self._ambient + sum(fault.sizes["change"] for fault in active)
        if active:
            self._over_ms = max(1, round(active[-1].sizes["over"] * 1000.0))
        self._pace = (target - self._net.x(self.air)) / (self._over_ms * 0.001)
        self._net.queue.cancel(self._change)
        self._change = self._net.queue.after(self._over_ms, "room settled")

    def _settled(self, _: float) -> None:
        self._pace = 0.0
