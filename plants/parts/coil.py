"""Heat exchange of a coil in a tank, from its geometry.

Inside: Schmidt's correlations for helical coils (Schmidt 1967, Chem. Ing. Tech. 39:781-789; in the package
ht). Outside: natural convection from a horizontal cylinder (Churchill and Chu 1975, Int. J. Heat Mass
Transfer 18:1049-1053). Between them the wall. The difference over the outside film follows from the heat that
passes, found by repetition.

The temperatures are fixed ones, those of a mash that is held: with `MASH` inside and `LIQUOR` outside. A
difference twice as large would make the outside film a fifth better.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log, pi

from plants.kernel.describe import Choice, Parameter
from plants.kernel.network import Gain
from plants.media import water
from plants.parts.pump import FLOW_DENSITY, Circuit

MASH, LIQUOR = 65.0, 72.0
"""Temperatures of the water inside and outside for which the films are worked out. [degC]"""

WALLS = {"copper": 390.0, "stainless": 16.0, "aluminium": 200.0}
"""Conductivity of the wall [W/m K], common practice, no source."""

_STILL = 0.002
"""Least flow inside [kg/s]: water that stands still moves by its own differences. assumed"""


@dataclass(frozen=True)
class Helix:
    """A coil: length [m], inside and outside diameter of the pipe and of the coil [mm], wall [W/m K]."""

    length: float
    inside: float
    outside: float
    coil: float
    wall: float


def inside_nusselt(reynolds: float, prandtl: float, ratio: float) -> float:
    """Nusselt number in a helical coil; `ratio` is pipe bore over diameter of the coil (Schmidt 1967).

    >>> round(inside_nusselt(2e5, 0.7, 0.05), 3)
    466.257
    """
    third = float(prandtl ** (1.0 / 3.0))
    power = 0.5 + 0.2903 * ratio**0.194
    laminar: float = 3.65 + 0.08 * (1.0 + 0.8 * ratio**0.9) * reynolds**power * third
    if reynolds < 2300.0 * (1.0 + 8.6 * ratio**0.45):
        return laminar
    if reynolds <= 2.2e4:
        bend = 1.0 + 14.8 * (1.0 + ratio) * ratio ** (1.0 / 3.0)
        return float(0.023 * bend * reynolds ** (0.8 - 0.22 * ratio**0.1) * third)
    return float(0.023 * (1.0 + 3.6 * (1.0 - ratio) * ratio**0.8) * reynolds**0.8 * third)


def outside_nusselt(rayleigh: float, prandtl: float) -> float:
    """Nusselt number of a horizontal cylinder in still fluid (Churchill and Chu 1975).

    >>> round(outside_nusselt(0.69 * 2.63e9, 0.69), 3)
    139.135
    """
    spread = (1.0 + (0.559 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return float((0.60 + 0.387 * rayleigh ** (1.0 / 6.0) / spread) ** 2)


def coil_ua(helix: Helix, kg_per_s: float, over: float = 0.0) -> float:
    """Heat exchange of the whole coil [W/K] at a flow; `over` [K] fixes the difference over the outside film.

    15 m of copper, 10.9 and 12.7 mm, coil of 250 mm, 0.1 kg/s:

    >>> round(coil_ua(Helix(15.0, 10.9, 12.7, 250.0, 390.0), 0.1, over=3.0))
    396
    """
    bore, width, flow = helix.inside * 0.001, helix.outside * 0.001, max(kg_per_s, _STILL)
    mu, k, pr = water.viscosity(MASH), water.conductivity(MASH), water.prandtl(MASH)
    inner = inside_nusselt(4.0 * flow / (pi * bore * mu), pr, helix.inside / helix.coil) * k / bore
    area_in, area_out = pi * bore * helix.length, pi * width * helix.length
    fixed = 1.0 / (inner * area_in) + log(width / bore) / (2.0 * pi * helix.wall * helix.length)
    difference, carried = over or 3.0, flow * water.SPECIFIC_HEAT
    while True:
        outer = _outside_film(width, difference) * area_out
        ua = 1.0 / (fixed + 1.0 / outer)
        found = carried * (LIQUOR - MASH) * (1.0 - exp(-ua / carried)) / outer
        if over or abs(found - difference) < 1e-9:
            return ua
        difference = found


def _outside_film(width: float, over: float) -> float:
    """Film coefficient on the outside, `over` K below the liquor [W/m2 K]."""
    film = LIQUOR - over / 2.0
    kinematic, pr = water.viscosity(film) / water.density(film), water.prandtl(film)
    rayleigh = 9.80665 * water.expansion(film) * over * width**3 * pr / kinematic**2
    return outside_nusselt(rayleigh, pr) * water.conductivity(film) / width


def parameters() -> tuple[Parameter, ...]:
    """What can be set on a coil."""
    return (
        Parameter(
            "coil_ua", "W/K", 400.0, 5.0, 5000.0, "assumed: 15 m of 12.7 mm copper: 396 W/K by films of ht",
            "whole coil, if coil_from is stated",
        ),
        Parameter("coil_volume", "L", 1.4, 0.05, 20.0, "assumed: 15 m of 10.9 mm bore", "content, if stated"),
        Parameter("coil_length", "m", 15.0, 1.0, 60.0, "assumed", "of the pipe, if coil_from is geometry"),
        Parameter("coil_inside", "mm", 10.9, 4.0, 40.0, "assumed", "bore of the pipe, if geometry"),
        Parameter("coil_wall", "mm", 0.9, 0.2, 5.0, "assumed", "thickness of the wall, if geometry"),
        Parameter("coil_diameter", "mm", 250.0, 60.0, 1000.0, "assumed", "of the winding, if geometry"),
    )  # fmt: skip


def choices() -> tuple[Choice, ...]:
    """Whence the exchange of a coil comes, and the metal of its wall."""
    return (
        Choice(
            "coil_from", ("stated", "geometry"), "assumed",
            "coil_ua and coil_volume as stated, or from the coil's geometry and the flow",
        ),
        Choice("coil_metal", tuple(WALLS), "assumed", "wall of the coil, if geometry"),
    )  # fmt: skip


def of(setup: dict[str, float], words: Mapping[str, str], circuit: Circuit) -> tuple[float, Gain]:
    """Content [L] and exchange [W/K] of the coil that a set-up describes."""
    if words.get("coil_from") != "geometry":
        return setup["coil_volume"], setup["coil_ua"]
    bore, wall = setup["coil_inside"], WALLS[words["coil_metal"]]
    outside = bore + 2.0 * setup["coil_wall"]
    helix = Helix(setup["coil_length"], bore, outside, max(setup["coil_diameter"], 1.5 * outside), wall)
    known: dict[float, float] = {}

    def ua() -> float:
        flow = circuit.l_per_s * 0.001 * FLOW_DENSITY
        if flow not in known:
            known[flow] = coil_ua(helix, flow)
        return known[flow]

    return pi / 4.0 * (bore * 0.001) ** 2 * helix.length * 1000.0, ua
