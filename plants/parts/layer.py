"""Water under a vessel's well-stirred content: below an element, or below a false bottom.

Warm water floats, so such a layer mixes slowly with what is above. Two layers are enough to show that: this
one, of constant content, and the vessel. Three ways lead up: `mixing`, always there; `overturn`, once it is
the warmer one; and vapour, once it would boil, which condenses in the water above (and heats that until it
boils itself).
"""

from __future__ import annotations

from plants.kernel.builder import Builder
from plants.kernel.network import level_of
from plants.media.water import SPECIFIC_HEAT
from plants.parts.part import Part
from plants.parts.vessel import BOIL_NEAR, BOIL_SECONDS, Vessel

DENSITY = 985.0
"""Of the layer's water [kg/m3]; right at 56 degC."""
_ONSET = 0.05
"""Overturn sets in smoothly over this difference [K]."""
_VAPOUR_ONSET = 0.2
"""And vapour over this one: its bubbles first collapse on their way up. [K]"""


class Layer(Part):
    """Water at `place` below `above`.

    Parameters
    ----------
    volume_l : float
        Content. [L]
    mixing, overturn : float
        Heat exchange with the water above, always and in addition once this is warmer. [W/K]
    boiling : float
        Temperature at which it boils. [degC]
    """

    saved = ("_near_boil",)

    def __init__(
        self, net: Builder, name: str, above: Vessel, *, volume_l: float, start: float, mixing: float,
        overturn: float, boiling: float,
    ) -> None:  # fmt: skip
        self._capacity = volume_l * 0.001 * DENSITY * SPECIFIC_HEAT
        self._above, self._overturn, self._boiling = above, overturn, boiling
        self.place = net.node(name, self._capacity, start)
        net.conduct(self.place, above.place, mixing)
        arguments = (self.place.heat, above.place.heat, above.water)
        (rising,) = net.rate_set(self.rising, arguments, f"{name} rising")
        net.transfer(level_of(rising), 1.0, self.place.heat, above.place.heat)
        self._net, self._near_boil = net, False
        net.parts.append(self)
        net.touchy.append(lambda: self._near_boil)
        net.refreeze.append(self._refreeze)

    def rising(self, heat: float, above_heat: float, above_water: float) -> tuple[float]:
        """Heat that overturn and vapour carry up [W]."""
        temp = heat / self._capacity
        watts, over = 0.0, temp - above_heat / (self._above.wall + above_water * SPECIFIC_HEAT)
        if over > 0.0:
            watts = self._overturn * over * over / (over + _ONSET)
        surplus = temp - self._boiling
        if (surplus > -BOIL_NEAR) is not self._near_boil:
            self._net.stale = True
        if surplus > 0.0:
            watts += self._capacity / BOIL_SECONDS * surplus * surplus / (surplus + _VAPOUR_ONSET)
        return (watts,)

    def _refreeze(self, x: list[float]) -> None:
        near = x[self.place.heat.index] / self._capacity - self._boiling > -BOIL_NEAR
        if near is not self._near_boil:
            self._near_boil, self._net.unsettled = near, True
