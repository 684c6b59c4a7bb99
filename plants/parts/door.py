"""A door with its switch: while it is open, the plant exchanges heat with the room."""

from __future__ import annotations

from collections.abc import Sequence

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault
from plants.parts.part import Part
from plants.parts.probe import offer_switch


class Door(Part):
    """Shut until the fault `door-open`; `open` is what its switch shows.

    Parameters
    ----------
    about, hazard : str
        What an open door means for this plant.
    """

    saved = ("open",)

    def __init__(self, net: Builder, about: str, hazard: str) -> None:
        self._net = net
        self.open = False
        net.parts.append(self)
        net.fault(Fault("door-open", (), (), about, hazard), self._change)
        net.flag("door_open", "the door is open", self, "open")

    def offer_switch(self, net: Builder) -> None:
        """Add the probe that reads the door's switch."""
        offer_switch(net, "door_open", "door switch: 1 while the door is open", self, "open")

    def share(self) -> float:
        """1 while open, else 0: a factor for what passes through the opening."""
        return 1.0 if self.open else 0.0

    def _change(self, active: Sequence[ActiveFault]) -> None:
        self.open = bool(active)
        self._net.tell("door open" if self.open else "door shut")
