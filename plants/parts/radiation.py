"""Heat by radiation between two places: exchange area x Stefan-Boltzmann x difference of the fourth powers.

The share that is proportional to the difference, G (T1 - T2) with G frozen near its present value, is in the
linear part and stepped exactly; what is left over is a rate. G is taken from a grid of 10 % steps, so that a
heater that swings between two temperatures uses the same few matrices again and again.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log

from plants.kernel.builder import Builder
from plants.kernel.compiled import Names
from plants.kernel.network import Place, Slot, level_of
from plants.parts.door import Door
from plants.parts.part import Part

STEFAN_BOLTZMANN = 5.670374419e-8
"""CODATA 2018. [W/m2 K4]"""
KELVIN = 273.15
_GRID = log(1.1)
_OFF_BY = 0.08
"""A frozen conductance this far from the present one is renewed."""


def radiated_w(exchange_m2: float, one: float, other: float) -> float:
    """Heat [W] from a surface at `one` to surroundings at `other` [degC], less what comes back.

    One metre of the steam pipe of heat transfer textbooks, 0.1 m thick, emissivity 0.85, 165 degC in a room
    of 23 degC: 441 W there, with temperatures rounded to whole kelvins.

    >>> round(radiated_w(0.85 * 0.314159, 165.0, 23.0), 1)
    441.6
    """
    return exchange_m2 * STEFAN_BOLTZMANN * ((one + KELVIN) ** 4 - (other + KELVIN) ** 4)


def enclosed_m2(inside_m2: float, inside: float, around_m2: float, around: float) -> float:
    """Exchange area of a convex body within walls: areas and emissivities of both (Incropera, table 13.3).

    >>> round(enclosed_m2(1.0, 0.8, 1e9, 0.5), 6), round(enclosed_m2(1.0, 0.5, 1.0, 0.5), 6)
    (0.8, 0.333333)
    """
    return inside_m2 / (1.0 / inside + inside_m2 / around_m2 * (1.0 / around - 1.0))


class Radiation(Part):
    """Radiation between a node and another node, or the room; through a `door` only while that is open.

    Parameters
    ----------
    exchange_m2 : float
        Area times emissivity times view; see `enclosed_m2`. [m2]
    """

    saved = ("_frozen",)

    def __init__(
        self, net: Builder, name: str, one: Place, other: Place, exchange_m2: float,
        door: Door | None = None,
    ) -> None:  # fmt: skip
        self._net, self._strength, self._door = net, exchange_m2 * STEFAN_BOLTZMANN, door
        (heat, self._one), (self._slot, self._other) = _only(one), _only(other)
        states = {slot: start for slot, start, _ in net.states}
        starts = states | dict(net.inputs)
        self._frozen = self._grid(starts[heat], starts[self._slot])
        if self._slot in states:
            (rest,) = net.rate_text(self._rest, (heat, self._slot), f"{name} radiation")
        else:
            (rest,) = net.rate_text(self._to_input, (heat,), f"{name} radiation")
        net.conduct(one, other, lambda: self._frozen)
        net.transfer(level_of(rest), 1.0, one.heat, other.heat)
        net.refreeze.append(lambda x: self._refreeze(x[heat.index], x[self._slot.index]))
        net.parts.append(self)

    def _conductance(self, one: float, other: float) -> float:
        """Heat per degree of difference [W/K] between the contents of the two slots."""
        hot, cold = one * self._one + KELVIN, other * self._other + KELVIN
        share = 1.0 if self._door is None or self._door.open else 0.0
        return self._strength * share * (hot * hot + cold * cold) * (hot + cold)

    def _grid(self, one: float, other: float) -> float:
        exact = self._conductance(one, other)
        return float(1.1 ** round(log(exact) / _GRID)) if exact > 0.0 else 0.0

    def _refreeze(self, one: float, other: float) -> None:
        self._frozen = self._grid(one, other)

    def _rest(self, names: Names, given: Sequence[str], results: Sequence[str]) -> list[str]:
        """Heat beyond the frozen conductance [W]; see `_conductance`."""
        (one, other), me = given, names.of(self)
        lines = [
            f"h = {one}*{self._one!r} + {KELVIN!r}",
            f"g = {other}*{self._other!r} + {KELVIN!r}",
            f"o = {self._strength!r}*(h*h + g*g)*(h + g) - k",
            f"if not -{_OFF_BY!r}*k <= o <= {_OFF_BY!r}*k:",
            f"    {names.of(self._net)}.stale = True",
            f"{results[0]} = o*(h - g)",
        ]
        if self._door is None:
            return [f"k = {me}._frozen", *lines]
        lines[2] = lines[2].replace("*", f"*{names.of(self._door)}.open*", 1)
        return [
            f"k = {me}._frozen", f"{results[0]} = 0.0", f"if {names.of(self._door)}.open or k:",
            *(f"    {line}" for line in lines),
        ]  # fmt: skip

    def _to_input(self, names: Names, given: Sequence[str], results: Sequence[str]) -> list[str]:
        other = f"{names.of(self._net)}.x({names.of(self._slot)})"
        return self._rest(names, (*given, other), results)


def _only(place: Place) -> tuple[Slot, float]:
    """The one entry that a node's or the room's temperature is made of, and its factor."""
    (term,) = place.level.terms()
    return term
