"""Water that leaves a vessel at a steady flow, down to a content: a tap, or a transfer to another vessel.

Several may run at once; each ends when the vessel has come down to its own content, and begins again once
there is more.
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil

from plants.kernel.builder import Builder
from plants.kernel.network import Slot
from plants.media.water import SPECIFIC_HEAT
from plants.parts.part import Part
from plants.parts.vessel import Vessel

_ENOUGH_KG = 1e-6
_LOOK_AGAIN_MS = 5000
"""So often a vessel that is down to its content is looked at again while something flows in."""
_LAST_MS = 100.0
"""The content is looked at half-way to its end, until it is this near: vapour leaves as well, unplanned."""


class Ways:
    """All ways out of one vessel, and functions that tell how much flows into it [kg/s]."""

    def __init__(self) -> None:
        self.out: list[Outflow] = []
        self.feeds: list[Callable[[], float]] = []

    def plan(self) -> None:
        """Take over what the vessel holds now."""
        for way in self.out:
            way.decide()
        total, fed = sum(way.flow for way in self.out), any(feed() for feed in self.feeds)
        for way in self.out:
            way.look_again(total, fed)


class Outflow(Part):
    """One way out of `vessel`; its heat goes to the store `heat` with it. `flow` is what leaves [kg/s].

    Parameters
    ----------
    ended : str
        What is told when nothing more flows although it should.
    ways, into : Ways
        Those of the vessel, to which this one adds itself, and those of the vessel it leads to, if any.
    """

    saved = ("flow", "_wanted", "_down_kg", "_event", "_told")

    def __init__(
        self, net: Builder, vessel: Vessel, name: str, heat: Slot, ended: str, ways: Ways,
        into: Ways | None = None,
    ) -> None:  # fmt: skip
        self._net, self._vessel, self._name, self._ended = net, vessel, name, ended
        self.flow = self._wanted = self._down_kg = 0.0
        self._event, self._told, self._ways, self._into = 0, False, ways, into
        ways.out.append(self)
        if into is not None:
            into.feeds.append(lambda: self.flow)
        net.transfer(vessel.place.level, lambda: self.flow * SPECIFIC_HEAT, vessel.place.heat, heat)
        net.queue.handle(name, self.plan)
        net.parts.append(self)

    def want(self, kg_per_s: float, down_kg: float) -> None:
        """Let so much flow, down to that content; 0 ends it."""
        if (kg_per_s, down_kg) != (self._wanted, self._down_kg):
            self._wanted, self._down_kg = kg_per_s, down_kg
            self.plan()

    def plan(self, _: float = 0.0) -> None:
        """Take over what the vessel holds now, and that something may flow on."""
        self._ways.plan()
        if self._into is not None:
            self._into.plan()

    def _over(self) -> float:
        return self._net.x(self._vessel.water) - self._down_kg

    def decide(self) -> None:
        """Flow if there is enough, and tell once that there is not."""
        self.flow = self._wanted if self._over() > _ENOUGH_KG else 0.0
        if self.flow or not self._wanted:
            self._told = False
        elif not self._told:
            self._told = True
            self._net.tell(self._ended)

    def look_again(self, total: float, fed: bool) -> None:
        """Plan when the content is reached if `total` leaves [kg/s], or a new look if something comes in."""
        self._net.queue.cancel(self._event)
        if self.flow:
            left_ms = self._over() / total * 1000.0
            self._event = self._net.queue.after(
                ceil(left_ms if left_ms < _LAST_MS else left_ms / 2.0), self._name
            )
        elif self._wanted and fed:
            self._event = self._net.queue.after(_LOOK_AGAIN_MS, self._name)
