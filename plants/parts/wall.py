"""An insulating wall in layers: heat that creeps through it and stays in it.

Each layer is cut into cells of equal thickness; a node stands at every border, so that the faces have
temperatures of their own, and each cell gives half its heat capacity to the node on either side. The area
grows evenly from the inner to the outer face; a cell conducts as such a wedge does, so that the steady flow
through the whole is exact for any number of cells.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from plants.kernel.builder import Builder


@dataclass(frozen=True)
class Layer:
    """One material: thickness [m], conductivity [W/m K], density [kg/m3], specific heat [J/kg K], cells."""

    thickness: float
    conductivity: float
    density: float
    heat: float
    cells: int


def wedge_w_per_k(conductivity: float, thickness: float, inner_m2: float, outer_m2: float) -> float:
    """Conductance of a piece whose area grows evenly with depth [W/K]; a plate where both are equal.

    >>> wedge_w_per_k(0.25, 0.1, 2.0, 2.0)
    5.0
    """
    grown = outer_m2 / inner_m2
    mean = inner_m2 if abs(grown - 1.0) < 1e-9 else (outer_m2 - inner_m2) / log(grown)
    return conductivity * mean / thickness


class Wall:
    """Nodes through a wall; `hot` is its inner face, `cold` its outer one.

    Parameters
    ----------
    inner_m2, outer_m2 : float
        Areas of the faces. [m2]
    start : float
        Inner face at the start. [degC]
    beyond : tuple of float
        Temperature outside [degC], and conductance from the outer face to there [W/K]; the wall starts as
        after a long hold between the two.
    """

    def __init__(
        self, net: Builder, name: str, layers: Sequence[Layer], *, inner_m2: float, outer_m2: float,
        start: float, beyond: tuple[float, float],
    ) -> None:  # fmt: skip
        growth = (outer_m2 - inner_m2) / sum(layer.thickness for layer in layers)
        area, capacities, conductances = inner_m2, [0.0], []
        for layer in layers:
            piece = layer.thickness / layer.cells
            for _ in range(layer.cells):
                wider = area + growth * piece
                conductances.append(wedge_w_per_k(layer.conductivity, piece, area, wider))
                half = (area + wider) / 4.0 * piece * layer.density * layer.heat
                capacities[-1] += half
                capacities.append(half)
                area = wider
        starts = _steady(start, conductances, *beyond)
        self.places = [
            net.node(f"{name} {i}", capacity, at)
            for i, (capacity, at) in enumerate(zip(capacities, starts, strict=True))
        ]
        for inner, outer, conductance in zip(self.places, self.places[1:], conductances, strict=False):
            net.conduct(inner, outer, conductance)
        self.hot, self.cold = self.places[0], self.places[-1]


def _steady(inner: float, conductances: Sequence[float], outside: float, film: float) -> list[float]:
    """Temperatures of the nodes when as much heat leaves each as enters it."""
    ways = [1.0 / conductance for conductance in (*conductances, film)]
    flow, temps = (inner - outside) / sum(ways), [inner]
    for way in ways[:-1]:
        temps.append(temps[-1] - flow * way)
    return temps
