"""A vessel of well-stirred water: heat capacity that changes with the content, evaporation, boiling.

Surface evaporation: w = open area x 0.089 (p_water - p_air) / latent heat, still air (ASHRAE handbook, after
Carrier; kPa, kg/s m2, kJ/kg). Published data scatter by about half above 50 degC (common practice, no
source).

Boiling: heat that would carry the water above its boiling point leaves as vapour. The surplus over the
boiling point relaxes with `BOIL_SECONDS`, so the water is never warmer than the boiling point by more than
what the heat supply adds in about that time (0.05 K for 5 kW on 50 L), and the onset is smooth over
`BOIL_ONSET`.
"""

from __future__ import annotations

from math import exp

from plants.kernel.builder import Builder
from plants.kernel.compiled import Names
from plants.kernel.describe import Parameter
from plants.kernel.network import Level, Place
from plants.media.water import LATENT_FIT, SPECIFIC_HEAT, VAPOUR_FIT, density
from plants.parts.part import Part

BOIL_SECONDS = 2.0
BOIL_ONSET = 0.02
"""[K]"""
LAST_KG = 0.2
"""Below this content vapour leaves ever more slowly, so that no vessel holds less than nothing."""
_REFREEZE = 0.01
"""A change of content by this fraction renews the frozen heat capacity."""


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
    boiling : float
        Boiling point. [degC]
    moisture_kpa : float
        Vapour pressure of the air around. [kPa]
    """

    saved = ("_frozen",)

    def __init__(
        self, net: Builder, name: str, *, volume_l: float, start: float, wall: float, open_m2: float,
        boiling: float, moisture_kpa: float,
    ) -> None:  # fmt: skip
        mass = volume_l * 0.001 * density(start)
        self._net, self._wall = net, wall
        self._open, self._moisture, self._boiling = open_m2 * 89.0, moisture_kpa, boiling
        self._frozen = wall + mass * SPECIFIC_HEAT
        self._mass = net.state(f"{name} water", mass, "water")
        heat = net.state(f"{name} heat", self._frozen * start, "heat")
        shift, vapour, vapour_heat = net.rate_set(
            self.rates, (heat, self._mass), f"{name} shift", f"{name} vapour", f"{name} vapour heat"
        )
        text_mass, per_kg = self._mass, repr(SPECIFIC_HEAT)
        self.place = Place(heat, Level(
            lambda: [(heat, 1.0 / self._frozen), (shift, 1.0)],
            lambda: f"(x[{heat.index}]/({wall!r} + x[{text_mass.index}]*{per_kg}))",
        ))  # fmt: skip
        net.evaporates(vapour, vapour_heat, self._mass, heat)
        net.frozen.append(lambda: self._frozen)
        net.refreeze.append(self._refreeze)
        net.parts.append(self)

    def rates(self, heat: float, mass: float) -> tuple[float, float, float]:
        """How far the temperature is from the one with frozen capacity [K], vapour [kg/s], its heat [W]."""
        capacity = self._wall + mass * SPECIFIC_HEAT
        temp = heat / capacity
        latent = LATENT_FIT[0] + temp * (LATENT_FIT[1] + temp * LATENT_FIT[2])
        vapour = (
            self._open
            * (exp(VAPOUR_FIT[0] - VAPOUR_FIT[1] / (temp + VAPOUR_FIT[2])) - self._moisture)
            / latent
        )
        if vapour < 0.0:
            vapour = 0.0
        surplus = temp - self._boiling
        if surplus > 0.0:
            vapour += capacity / (BOIL_SECONDS * latent) * surplus * surplus / (surplus + BOIL_ONSET)
        if mass < LAST_KG:
            vapour *= max(mass, 0.0) / LAST_KG
        if abs(capacity - self._frozen) > _REFREEZE * self._frozen:
            self._net.stale = True
        return temp - heat / self._frozen, vapour, vapour * (latent + temp * SPECIFIC_HEAT)

    def _refreeze(self, x: list[float]) -> None:
        self._frozen = self._wall + x[self._mass.index] * SPECIFIC_HEAT

    def volume_text(self, names: Names) -> str:
        """Content [L] as an expression over x."""
        return f"x[{self._mass.index}]*1000.0/{names.of(density)}({self.place.level.text()})"


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
