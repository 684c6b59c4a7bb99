"""Grain in a mash: its own heat, a slow exchange with the liquid, and the heat of wetting at dough-in.

Dry grain that meets water warms up as it takes the water in. The trade handbook states this slaking heat as
a rise of the whole mash, by the moisture of the malt: 2.3 K at 2 % and 2.68 L/kg, which is 29.6 kJ per kg of
malt. It comes here at a steady pace over `slaking_time`.
"""

from __future__ import annotations

from collections.abc import Sequence

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault, FaultSize, Parameter
from plants.kernel.network import Level, Place, level_of
from plants.parts.part import Part

_TRACE = 0.05
"""Grain that is there when there is none [kg]: no store may be without heat."""

_ADDED = Fault(
    "grain-added", (),
    (FaultSize("mass", "kg", 8.0, 0.1, 100.0, "of dry grain, all at once"),
     FaultSize("temperature", "degC", 18.0, -10.0, 50.0, "of that grain")),
    "dough-in, or more grain for a mash that came out cold",
    "the mash drops by several kelvins within a minute; the loop must not answer with scorching heat",
)  # fmt: skip


def parameters(kg: float) -> tuple[Parameter, ...]:
    """What can be set on the grain of a mash, `kg` of it by default."""
    return (
        Parameter("grain", "kg", kg, 0.0, 80.0, "assumed", "dry grain in the mash tun at the start"),
        Parameter(
            "grain_heat", "kJ/kg K", 1.65, 1.0, 2.5, "trade handbook: malt 0.38 to 0.42 of water",
            "specific heat",
        ),
        Parameter(
            "grain_exchange", "W/K", 120.0, 1.0, 5000.0, "assumed",
            "between the grain and the liquid around it",
        ),
        Parameter(
            "slaking_heat", "kJ/kg", 29.6, 0.0, 60.0, "trade handbook: 2.3 K at 2 % moisture and 2.68 L/kg",
            "set free by dry grain that is added",
        ),
        Parameter("slaking_time", "s", 120.0, 1.0, 3600.0, "assumed", "over which that comes"),
    )  # fmt: skip


class Grain(Part):
    """Grain beside the liquid at `mash`, at `place`."""

    saved = ("_capacity", "_slakings", "_begun")

    def __init__(self, net: Builder, mash: Place, setup: dict[str, float], start: float) -> None:
        self._net, self._per_kg = net, setup["grain_heat"] * 1000.0
        self._slaking, self._time_ms = setup["slaking_heat"] * 1000.0, round(setup["slaking_time"] * 1000.0)
        self._capacity = max(setup["grain"], _TRACE) * self._per_kg
        self._slakings: list[tuple[int, float]] = []
        self._begun = 0
        heat = net.state("grain heat", self._capacity * start, "heat")
        capacity, warm = net.input("grain capacity", self._capacity), net.input("slaking", 0.0)
        net.input_values.append((capacity, lambda: self._capacity))
        net.input_values.append((warm, lambda: sum(watts for _, watts in self._slakings)))
        self.place = Place(heat, Level(
            lambda: [(heat, 1.0 / self._capacity)], lambda: f"(x[{heat.index}]/x[{capacity.index}])"
        ))  # fmt: skip
        net.frozen.append(lambda: self._capacity)
        net.capacities[heat] = lambda: self._capacity
        net.conduct(mash, self.place, setup["grain_exchange"])
        net.transfer(level_of(warm), 1.0, net.brought, heat)
        net.parts.append(self)
        net.queue.handle("slaked", self._slaked)
        net.fault(_ADDED, self._add)

    def _add(self, active: Sequence[ActiveFault]) -> None:
        begun, self._begun = len(active) > self._begun, len(active)
        if not begun:
            return
        size, queue = active[-1].sizes, self._net.queue
        added = size["mass"] * self._per_kg
        self._capacity += added
        self._net.jump(self._net.brought, self.place.heat, added * size["temperature"])
        watts = size["mass"] * self._slaking / (self._time_ms * 0.001)
        self._slakings = [*self._slakings, (queue.now_ms + self._time_ms, watts)]
        queue.after(self._time_ms, "slaked")
        self._net.tell(f"{size['mass']:g} kg of grain added")

    def _slaked(self, _: float) -> None:
        self._slakings = [one for one in self._slakings if one[0] > self._net.queue.now_ms]
