"""Immersion element, its relay and supply."""

import pytest

from plants import ready_plants
from tests.plants.small_plants import signal, signals

KETTLE = ready_plants()["electric-kettle"]


def heated(setup=None, seconds=120):
    """A kettle whose element has been on."""
    kettle = KETTLE(setup or {})
    kettle.command([1])
    kettle.advance(seconds * 1000)
    return kettle


def test_the_sheath_is_warmer_by_power_over_exchange():
    """5.5 kW over 350 W/K, less what the rising water keeps in the sheath."""
    values = signals(heated())
    assert values["sheath"] - values["kettle"] == pytest.approx(5500.0 / 350.0, abs=0.1)


@pytest.mark.parametrize(("percent", "share"), [(75.0, 0.5625), (110.0, 1.21)])
def test_power_goes_with_the_square_of_the_voltage(percent, share):
    kettle = heated()
    token = kettle.begin_fault("low-supply-voltage", None, {"voltage": percent})
    assert signal(kettle, "element_heat") == pytest.approx(5500.0 * share)
    kettle.end_fault(token)
    assert signal(kettle, "element_heat") == 5500.0


def test_an_open_element_has_no_current():
    kettle = heated()
    read = kettle.reader([("element_current", "bool")])
    assert read() == [1]
    token = kettle.begin_fault("element-open", None, {})
    assert (read(), signal(kettle, "element_heat"), signal(kettle, "relay")) == ([0], 0.0, 1.0)
    kettle.end_fault(token)
    assert read() == [1]


@pytest.mark.parametrize("kind", ["solid-state", "mechanical"])
def test_a_relay_welds_sticks_and_counts(kind):
    kettle = KETTLE({"relay_kind": kind})
    for on in (1, 0, 1, 0):
        kettle.command([on])
        kettle.advance(kettle.time_ms + 1000)
    assert signals(kettle)["relay_operations"] == 2
    welded = kettle.begin_fault("relay-welded-on", "element", {})
    kettle.advance(5000)
    assert (signal(kettle, "relay"), signal(kettle, "relay_command")) == (1.0, 0.0)
    kettle.end_fault(welded)
    kettle.begin_fault("relay-stuck-off", "element", {})
    kettle.command([1])
    kettle.advance(7000)
    assert (signal(kettle, "relay"), signal(kettle, "relay_command")) == (0.0, 1.0)


def test_an_element_in_air_burns_out_for_good_and_tells():
    told = []
    kettle = KETTLE({"kettle_volume": 4.0})
    kettle.on_change = lambda time_ms, text: told.append((time_ms, text))
    kettle.command([1])
    kettle.advance(300_000)
    values = signals(kettle)
    assert values["element_burnt"] == 1.0
    assert values["element_heat"] == 0.0
    (time_ms, text) = told[-1]
    assert text == "element burnt out: its sheath has reached 800 degC"
    assert 48_000 < time_ms < 75_000  # 5.5 kW into 350 J/K, less radiation of up to 3.8 kW
    kettle.command([0])
    kettle.command([1])
    kettle.advance(400_000)
    assert signals(kettle)["element_heat"] == 0.0


@pytest.mark.parametrize("length_ms", [40, 100, 333, 1000])
def test_it_burns_out_at_the_same_moment_however_time_is_cut(length_ms):
    told = []
    kettle = KETTLE({"kettle_volume": 5.0, "kettle_start": 60.0})
    kettle.on_change = lambda time_ms, text: told.append((time_ms, text))
    kettle.command([1])
    while kettle.time_ms < 120_000:
        kettle.advance(kettle.time_ms + length_ms)
    whole = KETTLE({"kettle_volume": 5.0, "kettle_start": 60.0})
    moments = []
    whole.on_change = lambda time_ms, text: moments.append((time_ms, text))
    whole.command([1])
    whole.advance(130_000)
    assert told == moments


def test_a_half_bare_element_holds_and_the_level_switch_tells():
    kettle = KETTLE({"kettle_volume": 20.0})
    read = kettle.reader([("level", "bool")])
    assert read() == [1]
    kettle.command([1])
    kettle.begin_fault("vessel-runs-low", "kettle", {"flow": 20.0, "down_to": 5.0})
    kettle.advance(120_000)
    values = signals(kettle)
    assert 40.0 < values["element_covered"] < 60.0
    assert values["element_burnt"] == 0.0
    assert read() == [0]
    assert values["sheath"] - values["kettle"] > 25.0


def test_water_over_a_hot_sheath_takes_its_heat():
    kettle = KETTLE({"kettle_volume": 4.0, "sheath_limit": 1200.0})
    kettle.command([1])
    kettle.advance(30_000)
    assert signal(kettle, "sheath") > 300.0
    kettle.begin_fault("cold-water-added", "kettle", {"volume": 10.0, "over": 5.0})
    kettle.advance(60_000)
    values = signals(kettle)
    assert values["sheath"] - values["kettle"] < 17.0
    assert kettle.balance().heat_error < 1e-12
