"""Water that is moved from one vessel to the other, or leaves by several ways."""

import pytest

from plants import ready_plants
from plants.media.water import SPECIFIC_HEAT, density
from tests.plants.small_plants import signal, signals
from tests.plants.strategies import HERMS

L_PER_MIN = 0.001 * density(20.0) / 60.0
TIGHT = {
    "liquor_start": 78.0, "mash_start": 60.0, "grain": 0.0, "liquor_open": 0.0, "mash_open": 0.0,
    "liquor_loss": 0.0, "mash_loss": 0.0, "base_loss": 0.0, "base_exchange": 5.0, "base_heat": 0.1,
    "ambient": 20.0,
}  # fmt: skip


def rig(setup=None):
    """A rig without losses, and what it tells."""
    plant, told = HERMS(TIGHT | (setup or {})), []
    plant.on_change = lambda time_ms, text: told.append((time_ms, text))
    return plant, told


def held(plant):
    """Water in liquor tank and mash tun [kg]."""
    return {name: plant._named(plant._stepper.now)[f"{name} water"][1] for name in ("liquor", "mash")}


def test_what_leaves_the_tank_arrives_in_the_tun_with_its_heat():
    """10 L at 78 degC into 30 L at 60 degC with a wall of 3 kJ/K: m c T, no losses; nothing from outside."""
    plant, _ = rig()
    before = held(plant)
    token = plant.begin_fault("water-moved", "liquor-to-mash", {"flow": 5.0})
    plant.advance(120_000)
    plant.end_fault(token)
    plant.advance(180_000)
    moved, after = 10.0 * L_PER_MIN * 60.0, held(plant)
    assert before["liquor"] - after["liquor"] == pytest.approx(moved, rel=1e-9)
    assert after["mash"] - before["mash"] == pytest.approx(moved, rel=1e-9)
    tun, water = before["mash"] * SPECIFIC_HEAT + 3000.0, moved * SPECIFIC_HEAT
    assert signal(plant, "mash") == pytest.approx((tun * 60.0 + water * 78.0) / (tun + water), abs=0.02)
    assert signal(plant, "liquor") == pytest.approx(78.0, abs=0.02)
    books = plant.balance()
    assert (books.brought_kg, books.brought_j) == (0.0, 0.0)
    assert max(books.heat_error, books.water_error) < 1e-12


def test_there_and_back_at_the_same_pace_moves_heat_only():
    plant, _ = rig()
    before = held(plant)
    for place in ("liquor-to-mash", "mash-to-liquor"):
        plant.begin_fault("water-moved", place, {"flow": 6.0})
    plant.advance(600_000)
    assert held(plant) == pytest.approx(before, rel=1e-12)
    assert abs(signal(plant, "liquor") - signal(plant, "mash")) < 2.0


def test_it_ends_at_the_content_that_is_asked_for_and_begins_again_above_it():
    plant, told = rig({"liquor_volume": 20.0})
    plant.begin_fault("water-moved", "liquor-to-mash", {"flow": 10.0, "down_to": 10.0})
    plant.advance(120_000)
    assert held(plant)["liquor"] == pytest.approx(10.0 * 0.001 * density(20.0), abs=0.01)
    plant.advance(140_000)
    assert [text for _, text in told] == ["liquor: nothing more goes to mash"]
    plant.begin_fault("cold-water-added", "liquor", {"volume": 5.0, "over": 20.0})
    plant.advance(240_000)
    assert held(plant)["liquor"] == pytest.approx(10.0 * 0.001 * density(20.0), abs=0.01)
    assert signal(plant, "mash_volume") > 44.5
    assert len(told) == 2, "once each time it has come down"


def test_two_ways_out_of_one_vessel_each_keep_to_their_content():
    """A leak down to 12 L and a transfer down to 15 L, both at 6 L/min: never below either by their own."""
    plant, told = rig({"liquor_volume": 25.0})
    seconds = (held(plant)["liquor"] / (60.0 * L_PER_MIN) - 15.0) / 12.0 * 60.0
    plant.begin_fault("water-moved", "liquor-to-mash", {"flow": 6.0, "down_to": 15.0})
    plant.begin_fault("vessel-runs-low", "liquor", {"flow": 6.0, "down_to": 12.0})
    plant.advance(55_000)
    assert told == [(pytest.approx(seconds * 1000.0, abs=2), "liquor: nothing more goes to mash")]
    at_the_end = signals(plant)["mash_volume"]
    plant.advance(200_000)
    assert held(plant)["liquor"] == pytest.approx(12.0 * 0.001 * density(20.0), abs=0.01)
    assert signal(plant, "mash_volume") == pytest.approx(at_the_end, abs=0.01)


def test_one_vessel_alone_offers_no_transfer():
    assert "water-moved" not in [fault.kind for fault in ready_plants()["electric-kettle"].faults]
    with pytest.raises(ValueError, match="Did you mean"):
        HERMS().begin_fault("water-moved", "liquor-to-mush", {})


def test_a_leak_goes_on_while_the_vessel_is_filled():
    """6 L over a minute into a tank that has run down to 10 L: what has gathered leaves every few seconds."""
    plant, _ = rig({"liquor_volume": 12.0})
    plant.begin_fault("vessel-runs-low", "liquor", {"flow": 20.0, "down_to": 10.0})
    plant.advance(60_000)
    for kind, place, sizes in (
        ("cold-water-added", "liquor", {"volume": 6.0, "over": 60.0}),
        ("water-moved", "mash-to-liquor", {"flow": 6.0}),
    ):
        token = plant.begin_fault(kind, place, sizes)
        plant.advance(plant.time_ms + 40_000)
        assert 9.9 < held(plant)["liquor"] < 10.9
        plant.end_fault(token)
        plant.advance(plant.time_ms + 60_000)
        assert held(plant)["liquor"] == pytest.approx(9.98, abs=0.02)


def test_what_runs_off_a_boil_stops_in_time():
    """Vapour leaves too: water must not run off as if what has boiled away were still there."""
    kettle = ready_plants()["electric-kettle"]
    plant = kettle({"kettle_volume": 16.0, "kettle_start": 95.0, "kettle_open": 100.0, "element_power": 5.5})
    plant.command([1])
    plant.begin_fault("vessel-runs-low", "kettle", {"flow": 0.6, "down_to": 1.0})
    left = {}
    plant.on_change = lambda time_ms, text: left.setdefault(text, plant._named(plant._stepper.now))
    plant.advance(40 * 60_000)
    assert signals(plant)["evaporated"] > 0.5
    ended = left["kettle: nothing more runs off"]["kettle water"][1]
    assert ended == pytest.approx(0.001 * density(20.0), abs=0.001)
