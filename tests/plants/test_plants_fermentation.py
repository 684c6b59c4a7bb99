"""The heat of a fermentation: when it peaks, how much it is in all, and that it cannot run away."""

from math import exp, isfinite

import pytest

from plants import ready_plants
from tests.plants.small_plants import signals

CHAMBER = ready_plants()["fermentation-chamber"]
STEADY = {"ambient": 20.0, "beer_start": 20.0, "chamber_start": 20.0, "beer_volume": 300.0}


def fermented(plant) -> float:
    return signals(plant)["fermented"] / 100.0


def test_the_logistic_curve_at_20_degc() -> None:
    """f = (e^z - 1) / (e^z + 1 / f0), z = k (1 + f0) t; at the peak (1 - f0) / 2 is fermented."""
    plant = CHAMBER({**STEADY, "sugar": 0.01, "ferment_peak": 4.0})
    plant.command([0] * len(plant.actuators))
    plant.advance(4 * 3_600_000)
    assert fermented(plant) == pytest.approx(0.49, abs=0.005)
    growing = exp(3.0)  # on the way to the peak z is ln(1 / f0) = ln 50
    plant = CHAMBER({**STEADY, "sugar": 0.01, "ferment_peak": 4.0})
    plant.command([0] * len(plant.actuators))
    plant.advance(round(4 * 3_600_000 * 3.0 / 3.912023))
    assert fermented(plant) == pytest.approx((growing - 1.0) / (growing + 50.0), abs=0.003)


@pytest.mark.parametrize("sugar", [1.0, 5.0, 20.0])
def test_what_heats_itself_stops_when_the_yeast_has_enough(sugar: float) -> None:
    """20 kg of sugar in a litre of beer is nobody's; a plant must bear what its ranges allow."""
    plant = CHAMBER(
        {"beer_volume": 1.0, "beer_start": 40.0, "sugar": sugar, "sugar_heat": 1000.0, "ferment_peak": 2.0}
    )
    plant.command([0] * len(plant.actuators))
    hottest = 0.0
    for minute in range(1, 121):
        plant.advance(minute * 60_000)
        seen = signals(plant)
        assert all(isfinite(value) for value in seen.values())
        hottest = max(hottest, seen["beer"])
    assert 45.0 < hottest < 56.0
    assert plant.balance().heat_error < 1e-9
