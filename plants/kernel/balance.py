"""The books of a plant: what came in, what left, what is still there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Balance:
    """Heat in J (relative to liquid water at 0 degC), water and gas in kg, all since the plant was built.

    `stored_j` is the change of what the plant holds, `turned_over_j` the scale on which the rest is judged.
    `brought_j` and `brought_kg` came in with water and grain that were added, less what ran off.
    """

    supplied_j: float
    lost_j: float
    evaporated_j: float
    stored_j: float
    turned_over_j: float
    water_start_kg: float
    water_now_kg: float
    evaporated_kg: float
    gas_drift_kg: float
    brought_j: float = 0.0
    brought_kg: float = 0.0

    @property
    def heat_error(self) -> float:
        """What does not close, as a fraction of all heat held or moved."""
        rest = self.supplied_j + self.brought_j - self.lost_j - self.evaporated_j - self.stored_j
        return abs(rest) / max(self.turned_over_j, 1.0)

    @property
    def water_error(self) -> float:
        """What does not close, as a fraction of the water at the start or now."""
        rest = self.water_start_kg + self.brought_kg - self.evaporated_kg - self.water_now_kg
        return abs(rest) / max(self.water_start_kg, self.water_now_kg, 1e-9)


def balance_of(start: Mapping[str, tuple[str, float]], now: Mapping[str, tuple[str, float]]) -> Balance:
    """Balance between two readings of all states, each name: (kind, value)."""

    def total(states: Mapping[str, tuple[str, float]], kind: str, leave_out: tuple[str, ...]) -> float:
        return sum(v for name, (k, v) in states.items() if k == kind and name not in leave_out)

    books = (
        "heat supplied", "heat lost", "heat in vapour", "heat brought", "water evaporated", "water brought",
    )  # fmt: skip
    held_start, held = total(start, "heat", books), total(now, "heat", books)
    supplied, lost = -now["heat supplied"][1], now["heat lost"][1]
    vapour, brought = now["heat in vapour"][1], -now["heat brought"][1]
    return Balance(
        supplied_j=supplied, lost_j=lost, evaporated_j=vapour, stored_j=held - held_start,
        turned_over_j=abs(held_start) + supplied + abs(lost) + vapour + abs(brought),
        water_start_kg=total(start, "water", books), water_now_kg=total(now, "water", books),
        evaporated_kg=now["water evaporated"][1],
        gas_drift_kg=abs(total(now, "gas", ()) - total(start, "gas", ())),
        brought_j=brought, brought_kg=-now["water brought"][1],
    )  # fmt: skip
