"""Water under a vessel's well-stirred content: below an element, or below a false bottom.

Warm water floats, so such a layer mixes slowly with what is above. Two layers are enough to show that: this
one, of constant content, and the vessel. Three ways lead up: `mixing`, always there; `overturn`, once it is
the warmer one; and vapour, once it would boil, which condenses in the water above (and heats that until it
boils itself).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from plants.kernel.builder import Builder
from plants.kernel.compiled import Names
from plants.kernel.network import level_of
from plants.media.water import SPECIFIC_HEAT
from plants.parts.part import Part
from plants.parts.vessel import BOIL_SECONDS, Vessel, boiling_band, near_boiling

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

    saved = ("_band", "_cooler", "_warmer")

    def __init__(
        self, net: Builder, name: str, above: Vessel, *, volume_l: float, start: float, mixing: float,
        overturn: float, boiling: float,
    ) -> None:  # fmt: skip
        self._capacity = volume_l * 0.001 * DENSITY * SPECIFIC_HEAT
        self._above, self._overturn, self._boiling = above, overturn, boiling
        self.place = net.node(name, self._capacity, start)
        net.conduct(self.place, above.place, mixing)
        arguments = (self.place.heat, above.place.heat, above.water)
        (rising,) = net.rate_text(self._rates, arguments, f"{name} rising")
        net.transfer(level_of(rising), 1.0, self.place.heat, above.place.heat)
        self._net = net
        self._look(start - boiling)
        net.parts.append(self)
        net.touchy.append(lambda: near_boiling(self._band))
        net.refreeze.append(self._refreeze)

    def _rates(self, names: Names, given: Sequence[str], results: Sequence[str]) -> list[str]:
        """Heat that overturn and vapour carry up [W]."""
        (heat, above_heat, above_water), me = given, names.of(self)
        return [
            f"t = {heat}*{1.0 / self._capacity!r}",
            f"o = t - {above_heat}/({self._above.wall!r} + {above_water}*{SPECIFIC_HEAT!r})",
            f"{results[0]} = {self._overturn!r}*o*o/(o + {_ONSET!r}) if o > 0.0 else 0.0",
            f"if not {me}._cooler < t < {me}._warmer:",
            f"    {results[0]} += {me}._vapour(t)",
        ]

    def _vapour(self, temp: float) -> float:
        """Heat that vapour carries up where this boils [W]; asks for the band to be looked at."""
        low, high = self._band
        surplus = temp - self._boiling
        if not low < surplus < high:
            self._net.stale = True
        if surplus <= 0.0:
            return 0.0
        return self._capacity / BOIL_SECONDS * surplus * surplus / (surplus + _VAPOUR_ONSET)

    def _look(self, surplus: float) -> None:
        """Find the limits [degC] within which nothing is unusual."""
        self._band = low, high = boiling_band(surplus)
        self._cooler, self._warmer = (
            (self._boiling + low, self._boiling + high) if high <= 0.0 else (inf, -inf)
        )

    def _refreeze(self, x: list[float]) -> None:
        self._look(x[self.place.heat.index] / self._capacity - self._boiling)
