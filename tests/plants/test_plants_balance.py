"""The books over a long day and by hand; the band in which water boils."""

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.plants.small_plants import Kettle, signals
from tests.plants.strategies import HERMS


def test_balance_of_a_long_day_with_boiling():
    """Six hours, boiling for most of them, burner and pump switched each minute."""
    plant = HERMS({"liquor_start": 90.0, "mash_start": 60.0, "burner_power": 15.0, "liquor_open": 100.0})
    for minute in range(360):
        plant.command([minute % 3 > 0, minute % 3 > 0, minute % 5 > 1])
        plant.advance((minute + 1) * 60_000)
    books = plant.balance()
    assert books.evaporated_kg > 5.0
    assert books.heat_error < 1e-9
    assert books.water_error < 1e-9


def test_the_books_name_every_joule():
    """The books by hand: 5.5 kW for 1000 s, half an hour after which all that is missing was lost."""
    kettle = Kettle({"loss": 5.0})
    kettle.command([1])
    kettle.advance(1_000_000)
    kettle.command([0])
    kettle.advance(2_800_000)
    books = kettle.balance()
    assert math.isclose(books.supplied_j, 5.5e6, rel_tol=1e-12)
    assert math.isclose(books.stored_j, 5.5e6 - books.lost_j, rel_tol=1e-9)
    assert books.evaporated_kg == 0.0


@settings(max_examples=15)
@given(st.floats(500.0, 20000.0), st.floats(5.0, 100.0), st.floats(0.0, 4000.0))
def test_boiling_water_stays_within_its_band(power, volume, altitude):
    """Never warmer than the boiling point by more than what the heat adds in about two seconds."""
    kettle = Kettle({"power": power, "volume": volume, "start": 80.0, "altitude": altitude})
    kettle.command([1])
    boiling = kettle._net.parts[0].boiling
    for second in range(0, 3000, 50):
        kettle.advance(second * 1000)
        mass = kettle.balance().water_now_kg
        if mass < 1.0:
            break
        assert signals(kettle)["water"] < boiling + 2.0 * power / (mass * 4186.0) + 0.03
