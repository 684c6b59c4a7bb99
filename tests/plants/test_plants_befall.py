"""What people, leaks and the weather do to vessels, mash and room."""

import pytest

from plants import ready_plants
from plants.media.water import SPECIFIC_HEAT, density
from tests.plants.small_plants import signal, signals
from tests.plants.strategies import HERMS

MASH, KETTLE = ready_plants()["direct-fired-mash"], ready_plants()["electric-kettle"]
TIGHT = {"kettle_loss": 0.0, "kettle_open": 0.0, "layer_below": 0.1, "layer_mixing": 5000.0}


def test_cold_water_mixes_by_mass():
    """30 L at 70 degC and 10 L at 10 degC, with a wall of 4 kJ/K: m c T of all, no losses."""
    kettle = KETTLE({**TIGHT, "kettle_start": 70.0, "sheath_heat": 0.1, "ambient": 45.0})
    sizes = {"volume": 10.0, "temperature": 10.0, "over": 30.0}
    kettle.begin_fault("cold-water-added", "kettle", sizes)
    kettle.advance(30_000)
    books = kettle.balance()
    assert books.brought_kg == pytest.approx(0.010 * density(10.0), rel=1e-9)
    assert books.brought_j == pytest.approx(books.brought_kg * SPECIFIC_HEAT * 10.0, rel=1e-9)
    kettle.advance(400_000)
    warm = 0.030 * density(70.0) * SPECIFIC_HEAT + 4100.0
    cold = 0.010 * density(10.0) * SPECIFIC_HEAT
    mixed = (warm * 70.0 + cold * 10.0) / (warm + cold)
    assert signal(kettle, "kettle") == pytest.approx(mixed, abs=0.02)


def test_pouring_is_momentary_and_not_broken_off():
    kettle = KETTLE()
    token = kettle.begin_fault("cold-water-added", "kettle", {"volume": 5.0, "over": 20.0})
    kettle.advance(5_000)
    kettle.end_fault(token)
    kettle.advance(60_000)
    assert kettle.balance().brought_kg == pytest.approx(5.0, abs=0.01)


def test_two_pours_overlap():
    kettle = KETTLE()
    kettle.begin_fault("cold-water-added", "kettle", {"volume": 5.0, "over": 20.0})
    kettle.advance(10_000)
    kettle.begin_fault("cold-water-added", "kettle", {"volume": 3.0, "over": 60.0})
    kettle.advance(120_000)
    assert kettle.balance().brought_kg == pytest.approx(8.0, abs=0.01)


def test_a_leak_stops_at_its_level_and_begins_again_above_it():
    told = []
    kettle = KETTLE({"kettle_volume": 10.0, "layer_below": 1.0})
    kettle.on_change = lambda time_ms, text: told.append((time_ms, text))
    kettle.begin_fault("vessel-runs-low", "kettle", {"flow": 6.0, "down_to": 3.0})
    kettle.advance(30_000)
    assert kettle.balance().brought_kg == pytest.approx(-3.0, abs=0.02)
    kettle.advance(120_000)
    held = kettle.balance().water_now_kg
    assert held == pytest.approx(3.0, abs=0.01)
    assert told[0][1] == "kettle: nothing more runs off"
    kettle.begin_fault("cold-water-added", "kettle", {"volume": 4.0, "over": 1.0})
    kettle.advance(200_000)
    assert kettle.balance().water_now_kg == pytest.approx(held, abs=0.01)


def test_the_same_water_heats_faster_once_some_has_run_off():
    rise = {}
    for low in (False, True):
        kettle = KETTLE({"kettle_volume": 20.0})
        if low:
            kettle.begin_fault("vessel-runs-low", "kettle", {"flow": 30.0, "down_to": 9.0})
        kettle.advance(60_000)
        kettle.command([1])
        kettle.advance(360_000)
        rise[low] = signal(kettle, "kettle") - 20.0
    assert 1.6 < rise[True] / rise[False] < 2.1


def test_an_open_lid_evaporates_as_the_whole_surface_does():
    evaporated = {}
    for kind in ("closed", "open", "draught"):
        rig = HERMS({"liquor_start": 80.0, "liquor_loss": 0.0, "mash_open": 0.0, "liquor_open": 20.0})
        if kind != "closed":
            rig.begin_fault("lid-off", "liquor", {})
        if kind == "draught":
            rig.begin_fault("draught", None, {"speed": 1.0})
        rig.advance(60_000)
        evaporated[kind] = signal(rig, "evaporated")
    assert evaporated["open"] / evaporated["closed"] == pytest.approx(5.0, rel=0.01)
    assert evaporated["draught"] / evaporated["open"] == pytest.approx(1.0 + 0.0782 / 0.089, rel=0.01)


def test_a_lid_put_back_is_closed():
    kettle = KETTLE({"kettle_start": 80.0})
    token = kettle.begin_fault("lid-off", "kettle", {})
    kettle.advance(10_000)
    open_for = signal(kettle, "evaporated")
    kettle.end_fault(token)
    kettle.advance(20_000)
    assert signal(kettle, "evaporated") - open_for < 0.15 * open_for


def test_the_room_ramps_and_comes_back():
    rig = HERMS()
    token = rig.begin_fault("ambient-change", None, {"change": -12.0, "over": 600.0})
    seen = []
    for minute in (5, 10, 30):
        rig.advance(minute * 60_000)
        seen.append(signal(rig, "ambient"))
    assert seen == pytest.approx([14.0, 8.0, 8.0], abs=1e-9)
    rig.end_fault(token)
    rig.advance(35 * 60_000)
    assert signal(rig, "ambient") == pytest.approx(14.0, abs=1e-9)
    rig.advance(60 * 60_000)
    assert signal(rig, "ambient") == pytest.approx(20.0, abs=1e-9)


def test_dough_in_drops_the_mash_and_slakes():
    """20 kg of liquor at 74 degC, 8 kg of grain at 20 degC: by m c T, and 29.6 kJ/kg on top."""
    setup = {
        "mash_volume": 20.0, "mash_start": 74.0, "grain": 0.0, "below_volume": 0.5, "mash_open": 0.0,
        "mash_loss": 0.0, "base_heat": 0.1, "base_loss": 0.0, "hose_volume": 0.05, "hose_loss": 0.0,
        "grain_exchange": 5000.0,
    }  # fmt: skip
    ends = {}
    for slaking in (0.0, 29.6):
        tun = MASH({**setup, "slaking_heat": slaking})
        tun.command([0, 0, 1])
        tun.begin_fault("grain-added", None, {"mass": 8.0, "temperature": 20.0})
        tun.advance(900_000)
        ends[slaking] = signal(tun, "mash")
    water = 0.020 * density(74.0) * SPECIFIC_HEAT + 4000.0
    malt = 8.0 * 1650.0
    assert ends[0.0] == pytest.approx((water * 74.0 + malt * 20.0) / (water + malt), abs=0.15)
    assert ends[29.6] - ends[0.0] == pytest.approx(8.0 * 29.6e3 / (water + malt), abs=0.05)


def test_still_water_below_the_element_lags_and_is_warmer_water_never():
    kettle = KETTLE({"layer_below": 5.0})
    kettle.command([1])
    kettle.advance(900_000)
    values = signals(kettle)
    assert values["kettle"] - values["layer"] > 20.0
    kettle.begin_fault("cold-water-added", "kettle", {"volume": 50.0, "temperature": 0.0, "over": 30.0})
    kettle.command([0])
    kettle.advance(1_000_000)
    values = signals(kettle)
    assert abs(values["layer"] - values["kettle"]) < 2.0


def test_wort_that_stands_on_the_base_boils_and_scorches():
    tun = MASH({"mash_start": 60.0})
    tun.command([1, 1, 1])
    tun.advance(120_000)
    before = signals(tun)
    tun.begin_fault("pump-stops", None, {})
    tun.advance(420_000)
    after = signals(tun)
    assert before["base"] - before["below"] < 30.0
    assert after["base"] - after["below"] > 40.0
    assert 99.9 < after["below"] < 101.5
