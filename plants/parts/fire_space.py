"""Unburned gas in the space around a burner, well mixed with the air that ventilation replaces."""

from __future__ import annotations

from collections.abc import Callable

from plants.kernel.builder import Builder
from plants.kernel.network import level_of
from plants.media.gas import Gas


class FireSpace:
    """Gas that burns goes to the books; gas that does not gathers here until air replaces it.

    Parameters
    ----------
    space, fresh : float
        Volume [m3] and ventilation [m3/s].
    burning, escaping : function
        Gas that burns, and that does not [kg/s]; asked after each event.
    """

    def __init__(
        self, net: Builder, gas: Gas, space: float, fresh: float,
        burning: Callable[[], float], escaping: Callable[[], float],
    ) -> None:  # fmt: skip
        self._net, self._gas, self._space, self._fresh = net, gas, space, fresh
        self._escaping = escaping
        self._percent = 100.0 / (gas.density * space * gas.flammable_from / 100.0)
        metered = net.state("gas metered", 0.0, "gas")
        vented = net.state("gas vented", 0.0, "gas")
        self._burned = net.state("gas burned", 0.0, "gas")
        self._unburned = net.state("gas unburned", 0.0, "gas")
        stores = (("gas burning", self._burned, burning), ("gas escaping", self._unburned, escaping))
        for name, store, flow in stores:
            slot = net.input(name, 0.0)
            net.input_values.append((slot, flow))
            net.transfer(level_of(slot), 1.0, metered, store)
        net.transfer(level_of(self._unburned), self._replaced, self._unburned, vented)

    def _replaced(self) -> float:
        """Air changes [1/s]: ventilation, and the gas that pushes air out."""
        return (self._fresh + self._escaping() / self._gas.density) / self._space

    def percent_text(self) -> str:
        """Unburned gas [% of the lower flammability limit] over x."""
        return f"x[{self._unburned.index}]*{self._percent!r}"

    def ignite(self) -> tuple[float, float]:
        """Burn what has gathered; how much that was [% of the lower limit] and its energy [J]."""
        kg = self._net.x(self._unburned)
        self._net.jump(self._unburned, self._burned, kg)
        return kg * self._percent, kg * self._gas.heating_value
