"""The burner's gas: orifices, pressure, leaks, slow valves, weak flames, the pilot."""

import pytest

from plants.media.gas import PROPANE, drill_mm, orifice_power_w
from tests.plants.small_plants import signal, signals
from tests.plants.strategies import HERMS


def lit(setup=None):
    """A rig with a standing flame and the list of its events."""
    plant, told = HERMS(setup or {}), []
    plant.on_change = lambda time_ms, text: told.append((time_ms, text))
    plant.command([1, 1, 0])
    plant.advance(5000)
    plant.command([1, 0, 0])
    assert signal(plant, "flame") == 1.0
    return plant, told


def test_a_drill_gives_the_power_of_its_orifices():
    plant, _ = lit({"orifice_drill": 57.0, "orifices": 3.0, "burner_efficiency": 50.0})
    expected = 3 * orifice_power_w(drill_mm(57), 2.74, PROPANE) * 0.5
    assert signal(plant, "burner_heat") == pytest.approx(expected)


def test_too_much_gas_is_refused():
    with pytest.raises(ValueError, match=r"orifice_drill = 10: 4 of it at 70 kPa give \d+ kW of propane."):
        HERMS({"orifice_drill": 10.0, "orifices": 4.0, "gas_pressure": 70.0})


@pytest.mark.parametrize(("pressure", "share"), [(49.0, 0.7), (100.0, 1.0), (9.0, 0.3)])
def test_heat_goes_with_the_root_of_the_pressure(pressure, share):
    plant, _ = lit()
    token = plant.begin_fault("low-gas-pressure", None, {"pressure": pressure})
    assert signal(plant, "burner_heat") == pytest.approx(5400.0 * share)
    plant.end_fault(token)
    assert signal(plant, "burner_heat") == 5400.0


def test_with_too_little_pressure_the_flame_goes_out_and_gas_still_comes():
    plant, told = lit()
    plant.begin_fault("low-gas-pressure", None, {"pressure": 4.0})
    assert told[-1] == (5000, "flame out: too little gas")
    plant.advance(15_000)
    assert signals(plant)["gas_valve"] == 1.0
    assert signals(plant)["unburned_gas"] > 2.0


def test_an_empty_bottle_gives_no_gas():
    plant, told = lit()
    plant.begin_fault("low-gas-pressure", None, {"pressure": 0.0})
    plant.advance(15_000)
    assert (5000, "flame out: no gas") in told
    assert signal(plant, "unburned_gas") == 0.0


def test_a_leak_gathers_and_the_next_flame_finds_it():
    plant, told = HERMS({"ventilation": 0.0}), []
    plant.on_change = lambda time_ms, text: told.append(text)
    plant.begin_fault("valve-leaks", None, {"leak": 5.0})
    plant.advance(120_000)
    gathered = signal(plant, "unburned_gas")
    assert gathered > 15.0
    assert signal(plant, "gas_valve") == 0.0
    plant.command([1, 1, 0])
    plant.advance(125_000)
    assert any("delayed ignition" in text for text in told)


def test_a_leak_alone_keeps_no_flame():
    plant, _ = lit()
    plant.begin_fault("valve-leaks", None, {"leak": 20.0})
    plant.command([0, 0, 0])
    plant.advance(10_000)
    assert (signal(plant, "flame"), signal(plant, "burner_heat")) == (0.0, 0.0)


def test_a_slow_valve_shuts_later():
    plant, told = lit()
    plant.begin_fault("valve-slow-to-close", None, {"later": 4.0})
    plant.command([0, 0, 0])
    plant.advance(20_000)
    assert (9300, "gas valve shut") in told


def test_a_weak_flame_gives_less_heat_and_flickers():
    plant, told = lit()
    token = plant.begin_fault("weak-flame", None, {"heat": 40.0, "seen": 2.0, "unseen": 0.5})
    plant.advance(12_000)
    assert signal(plant, "burner_heat") == pytest.approx(5400.0 * 0.4)
    seen = [(time_ms, text) for time_ms, text in told if "signal" in text and time_ms > 5000]
    assert seen[:3] == [(7000, "flame signal off"), (7500, "flame signal on"), (9500, "flame signal off")]
    plant.end_fault(token)
    plant.advance(30_000)
    assert signal(plant, "flame_seen") == 1.0
    assert told[-1][0] < 14_000


def test_a_weak_flame_can_be_steady():
    plant, told = lit()
    plant.begin_fault("weak-flame", None, {"unseen": 0.0})
    plant.advance(60_000)
    assert signal(plant, "flame_seen") == 1.0
    assert told[-1][0] < 5000


def test_a_pilot_lights_the_burner_without_a_spark():
    plant = HERMS({"ignition": "pilot", "pilot_power": 0.3, "burner_efficiency": 50.0})
    plant.advance(1000)
    assert signal(plant, "burner_heat") == pytest.approx(150.0)
    plant.command([1, 0, 0])
    plant.advance(5000)
    assert signal(plant, "flame") == 1.0
    assert signal(plant, "burner_heat") == pytest.approx(4650.0)


def test_without_its_pilot_gas_flows_until_the_thermocouple_has_cooled():
    told = []
    plant = HERMS({"ignition": "pilot", "pilot_drop_out": 30.0, "pilot_hold_in": 20.0})
    plant.on_change = lambda time_ms, text: told.append((time_ms, text))
    token = plant.begin_fault("pilot-out", None, {})
    plant.command([1, 0, 0])
    plant.advance(29_000)
    assert signals(plant)["unburned_gas"] > 25.0
    plant.advance(31_000)
    assert (30_000, "pilot valve has dropped out") in told
    plant.advance(120_000)
    assert signals(plant)["unburned_gas"] < 1.0
    plant.end_fault(token)
    plant.advance(180_000)
    assert (140_000, "pilot valve holds") in told
    assert signals(plant)["flame"] == 1.0
    assert plant.balance().gas_drift_kg < 1e-12


def test_a_burner_without_a_pilot_says_so():
    plant, told = lit()
    plant.begin_fault("pilot-out", None, {})
    plant.advance(6000)
    assert told[-1] == (5000, 'no pilot to go out: ignition = "pilot" gives this burner one')
    assert signal(plant, "flame") == 1.0


@pytest.mark.parametrize("kind", ["pilot-out", "weak-flame", "valve-slow-to-close"])
def test_a_fault_that_met_nothing_is_told(kind):
    plant = HERMS()
    plant.begin_fault(kind, None, {})
    plant.advance(10_000)
    assert plant.idle_faults() == [kind]


def test_a_fault_that_met_something_is_not():
    plant, _ = lit()
    for kind in ("weak-flame", "valve-slow-to-close"):
        plant.begin_fault(kind, None, {})
    plant.command([0, 0, 0])
    assert plant.idle_faults() == []
