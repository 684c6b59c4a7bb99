"""A vessel of well-stirred water: heat capacity that changes with the content, evaporation, boiling.

Surface evaporation: w = open area x (0.089 + 0.0782 V) (p_water - p_air) / latent heat, with V the speed of
the air in m/s (ASHRAE handbook, after Carrier; kPa, kg/s m2, kJ/kg). Published data scatter by about half
above 50 degC (common practice, no source).

Boiling: heat that would carry the water above its boiling point leaves as vapour. The surplus over the
boiling point relaxes with `BOIL_SECONDS`, so the water is never warmer than the boiling point by more than
what the heat supply adds in about that time (0.05 K for 5 kW on 50 L), and the onset is smooth over
`BOIL_ONSET`.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf

from plants.kernel.builder import Builder
from plants.kernel.compiled import Names
from plants.kernel.describe import Parameter
from plants.kernel.network import Level, Place
from plants.media.air import moisture_kpa, pressure_kpa
from plants.media.water import LATENT_FIT, SPECIFIC_HEAT, VAPOUR_FIT, boiling_point, density
from plants.parts.part import Part
from plants.parts.room import Room

_STILL, _PER_SPEED = 89.0, 78.2
"""Evaporation from a surface in still air, and what a draught adds [W/m2 kPa]."""
BOIL_SECONDS = 2.0
BOIL_ONSET = 0.02
"""[K]"""
_BANDS = (-inf, -0.5, -0.05, 0.0, inf)
"""Each time the surplus over the boiling point [K] passes one of these, steps are looked at anew."""
LAST_KG = 0.2
"""Below this content vapour leaves ever more slowly, so that no vessel holds less than nothing."""
_LATENT, _LATENT_1, _LATENT_2 = LATENT_FIT
_VAPOUR, _VAPOUR_1, _VAPOUR_2 = VAPOUR_FIT
_REFREEZE = 0.01
"""A change of content by this fraction renews the frozen heat capacity."""


def boiling_band(surplus: float) -> tuple[float, float]:
    """The two of `_BANDS` between which a surplus over the boiling point lies. [K]"""
    return next((low, high) for low, high in pairwise(_BANDS) if surplus < high)


def near_boiling(band: tuple[float, float]) -> bool:
    """Whether that is close enough for rates to bend."""
    return band[0] > -inf


class Vessel(Part):
    """Water and the wall that holds it, at one temperature.

    Parameters
    ----------
    volume_l, start : float
        Content [L] and its temperature [degC] at the start.
    wall : float
        Heat capacity of the wall and what else is as warm as the water. [J/K]
    open_m2 : float
        Surface open to the air, already reduced for a lid. [m2]
    surface_m2 : float
        The same with the lid off. [m2]
    boiling : float
        Boiling point. [degC]
    moisture_kpa : float
        Vapour pressure of the air around. [kPa]
    """

    saved = ("_frozen", "_open", "_lid_off", "_band", "_cooler", "_warmer", "_less", "_more")

    def __init__(
        self, net: Builder, name: str, *, volume_l: float, start: float, wall: float, open_m2: float,
        boiling: float, moisture_kpa: float, surface_m2: float = 0.0,
    ) -> None:  # fmt: skip
        mass = volume_l * 0.001 * density(start)
        self.name, self._net, self.wall, self.start, self.start_kg = name, net, wall, start, mass
        self._areas = (open_m2, max(open_m2, surface_m2))
        self._open, self._moisture, self.boiling = open_m2 * _STILL, moisture_kpa, boiling
        self._lid_off, self._frozen = False, 0.0
        self._freeze(wall + mass * SPECIFIC_HEAT, (wall + mass * SPECIFIC_HEAT) * start)
        self.water = net.state(f"{name} water", mass, "water")
        heat = net.state(f"{name} heat", self._frozen * start, "heat")
        shift, vapour, vapour_heat = net.rate_text(
            self._rates, (heat, self.water), f"{name} shift", f"{name} vapour", f"{name} vapour heat"
        )
        self.rates = net.rates[-1].function
        self.place = Place(heat, Level(
            lambda: [(heat, 1.0 / self._frozen), (shift, 1.0)],
            lambda: f"(x[{heat.index}]/({wall!r} + x[{self.water.index}]*{SPECIFIC_HEAT!r}))",
        ))  # fmt: skip
        net.evaporates(vapour, vapour_heat, self.water, heat)
        net.touchy.append(lambda: near_boiling(self._band))
        net.frozen.append(lambda: self._frozen)
        net.capacities[heat] = lambda: self._frozen
        net.refreeze.append(self._refreeze)
        net.parts.append(self)

    def _rates(self, names: Names, given: Sequence[str], results: Sequence[str]) -> list[str]:
        """How far the temperature is from the one with frozen capacity [K], vapour [kg/s], its heat [W]."""
        (heat, mass), (shift, vapour, vapour_heat), me = given, results, names.of(self)
        return [
            f"m = {self.wall!r} + {mass}*{SPECIFIC_HEAT!r}",
            f"t = {heat}/m",
            f"l = {_LATENT!r} + t*({_LATENT_1!r} + t*{_LATENT_2!r})",
            f"{vapour} = exp({_VAPOUR!r} - {_VAPOUR_1!r}/(t + {_VAPOUR_2!r})) - {self._moisture!r}",
            f"{vapour} = {vapour}*{me}._open/l if {vapour} > 0.0 else 0.0",
            f"if not ({me}._cooler < t < {me}._warmer and {me}._less < m < {me}._more):",
            f"    {vapour} = {me}._unusual(m, t, l, {vapour})",
            f"{shift} = t - {heat}/{me}._frozen",
            f"{vapour_heat} = {vapour}*(l + t*{SPECIFIC_HEAT!r})",
        ]

    def _unusual(self, capacity: float, temp: float, latent: float, vapour: float) -> float:
        """Vapour [kg/s] where the water boils or is nearly gone; asks for what is kept to be renewed."""
        low, high = self._band
        surplus, mass = temp - self.boiling, (capacity - self.wall) / SPECIFIC_HEAT
        if not (low < surplus < high and abs(capacity - self._frozen) < _REFREEZE * self._frozen):
            self._net.stale = True
        if surplus > 0.0:
            vapour += capacity / (BOIL_SECONDS * latent) * surplus * surplus / (surplus + BOIL_ONSET)
        if mass < LAST_KG:
            vapour *= max(mass, 0.0) / LAST_KG
        return vapour

    def expose(self, air_speed: float, lid_off: bool | None = None) -> None:
        """Take over the speed of the air [m/s] above the water, and whether the lid is off."""
        self._lid_off = self._lid_off if lid_off is None else lid_off
        self._open = self._areas[self._lid_off] * (_STILL + _PER_SPEED * air_speed)

    def _refreeze(self, x: list[float]) -> None:
        self._freeze(self.wall + x[self.water.index] * SPECIFIC_HEAT, x[self.place.heat.index])

    def _freeze(self, capacity: float, heat: float) -> None:
        """Take the present capacity into the matrices if it has moved; find the limits of what is usual.

        Not each time that the surplus passes one of `_BANDS`: new matrices cost as much as a hundred steps.
        """
        if not abs(capacity - self._frozen) < _REFREEZE * self._frozen:
            self._frozen = capacity
        last = self.wall + LAST_KG * SPECIFIC_HEAT
        self._band = low, high = boiling_band(heat / capacity - self.boiling)
        self._cooler, self._warmer = (self.boiling + low, self.boiling + high) if high <= 0.0 else (inf, -inf)
        self._less = max(self._frozen * (1.0 - _REFREEZE), last) if capacity > last else inf
        self._more = self._frozen * (1.0 + _REFREEZE)

    def volume_text(self, names: Names) -> str:
        """Content [L] as an expression over x."""
        return f"x[{self.water.index}]*1000.0/{names.of(density)}({self.place.level.text()})"


def furnished(net: Builder, setup: dict[str, float], name: str, room: Room, less_l: float = 0.0) -> Vessel:
    """The vessel that the parameters of `name` describe, in a room; `less_l` of its content is elsewhere."""
    surface = setup[f"{name}_surface"]
    made = Vessel(
        net, name, volume_l=setup[f"{name}_volume"] - less_l, start=setup[f"{name}_start"],
        wall=setup[f"{name}_wall"] * 1000.0, open_m2=surface * setup[f"{name}_open"] / 100.0,
        boiling=boiling_point(pressure_kpa(setup["altitude"])),
        moisture_kpa=moisture_kpa(setup["ambient"], setup["humidity"]), surface_m2=surface,
    )  # fmt: skip
    net.conduct(made.place, room.place, room.loss(setup[f"{name}_loss"]))
    return made


def parameters(
    name: str, *, volume: float, wall: float, surface: float, loss: float, what: str
) -> tuple[Parameter, ...]:
    """What can be set on a vessel called `name`, with the defaults given."""
    return (
        Parameter(f"{name}_volume", "L", volume, 1.0, 300.0, "assumed", f"{what} at the start"),
        Parameter(f"{name}_start", "degC", 20.0, 0.0, 95.0, "assumed", f"{what}: temperature at the start"),
        Parameter(f"{name}_wall", "kJ/K", wall, 0.5, 50.0, "assumed", "heat capacity of the vessel itself"),
        Parameter(f"{name}_surface", "m2", surface, 0.0, 2.0, "assumed", "water surface"),
        Parameter(
            f"{name}_open", "%", 10.0, 0.0, 100.0, "assumed", "share of the surface that a lid leaves open"
        ),
        Parameter(
            f"{name}_loss", "W/K", loss, 0.0, 100.0, "assumed", "loss through wall and lid to the room"
        ),
    )
