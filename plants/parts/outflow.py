"""Water that leaves a vessel at a steady flow, down to a content: a tap, or a transfer to another vessel.

Several may run at once; each ends when the vessel has come down to its own content, and begins again once
there is more.
"""

from __future__ import annotations

from math import ceil

from plants.kernel.builder import Builder
from plants.kernel.network import Slot
from plants.media.water import SPECIFIC_HEAT
from plants.parts.part import Part
from plants.parts.vessel import Vessel

_ENOUGH_KG = 1e-6
_LOOK_AGAIN_MS = 5000
"""So often a vessel that is down to its content is looked at again: something may have flowed in."""


class Outflow(Part):
    """One way out of `vessel`; its heat goes to the store `heat` with it. `flow` is what leaves [kg/s].

    Parameters
    ----------
    ended : str
        What is told when nothing more flows although it should.
    all_ways : list of Outflow
        The ways out of the same vessel; this one adds itself.
    """

    saved = ("flow", "_wanted", "_down_kg", "_event", "_told")

    def __init__(
        self, net: Builder, vessel: Vessel, name: str, heat: Slot, ended: str, all_ways: list[Outflow]
    ) -> None:
        self._net, self._vessel, self._name, self._ended = net, vessel, name, ended
        self.flow = self._wanted = self._down_kg = 0.0
        self._event, self._told, self._all = 0, False, all_ways
        all_ways.append(self)
        net.transfer(vessel.place.level, lambda: self.flow * SPECIFIC_HEAT, vessel.place.heat, heat)
        net.queue.handle(name, self.plan)
        net.parts.append(self)

    def want(self, kg_per_s: float, down_kg: float) -> None:
        """Let so much flow, down to that content; 0 ends it."""
        if (kg_per_s, down_kg) != (self._wanted, self._down_kg):
            self._wanted, self._down_kg = kg_per_s, down_kg
            self.plan()

    def plan(self, _: float = 0.0) -> None:
        """Take over what the vessel holds now, for all ways out of it."""
        for way in self._all:
            way._decide()
        total = sum(way.flow for way in self._all)
        for way in self._all:
            way._look_again_after(total)

    def _over(self) -> float:
        return self._net.x(self._vessel.water) - self._down_kg

    def _decide(self) -> None:
        self.flow = self._wanted if self._over() > _ENOUGH_KG else 0.0
        if self.flow or not self._wanted:
            self._told = False
        elif not self._told:
            self._told = True
            self._net.tell(self._ended)

    def _look_again_after(self, total: float) -> None:
        self._net.queue.cancel(self._event)
        if self._wanted:
            wait_ms = ceil(self._over() / total * 1000.0) if self.flow else _LOOK_AGAIN_MS
            self._event = self._net.queue.after(wait_ms, self._name)
