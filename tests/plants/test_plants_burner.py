"""The gas burner: sequence, unburned gas, and all that can go wrong with it."""

import pytest

from tests.plants.small_plants import signal, signals
from tests.plants.strategies import HERMS


def burner(setup=None, **faults):
    """A plant and the list of its events."""
    plant, events = HERMS(setup or {}), []
    plant.on_change = lambda time_ms, text: events.append((time_ms, text))
    return plant, events


def light(plant):
    """Gas and spark until the flame has been seen."""
    plant.command([1, 1, 0])
    plant.advance(plant.time_ms + 3000)
    plant.command([1, 0, 0])
    assert signal(plant, "flame") == 1.0


def trial(plant, length_ms=8000):
    """One ignition trial; the unburned gas [% of the limit] once the valve is shut."""
    plant.command([1, 1, 0])
    plant.advance(plant.time_ms + length_ms)
    plant.command([0, 0, 0])
    plant.advance(plant.time_ms + 300)
    return signal(plant, "unburned_gas")


def test_gas_passes_only_after_the_valve_has_travelled():
    plant, _ = burner()
    plant.command([1, 0, 0])
    plant.advance(299)
    assert (signal(plant, "valve_command"), signal(plant, "gas_valve")) == (1.0, 0.0)
    plant.advance(300)
    assert signal(plant, "gas_valve") == 1.0
    plant.command([0, 0, 0])
    plant.advance(599)
    assert signal(plant, "gas_valve") == 1.0
    plant.advance(600)
    assert signal(plant, "gas_valve") == 0.0


def test_a_command_taken_back_in_time_moves_nothing():
    plant, events = burner()
    plant.command([1, 0, 0])
    plant.advance(200)
    plant.command([0, 0, 0])
    plant.advance(2000)
    assert signal(plant, "gas_valve") == 0.0
    assert [text for _, text in events if "open" in text] == []


@pytest.mark.parametrize(("gas", "spark"), [(0, 1), (1, 0), (0, 0)])
def test_no_flame_without_gas_and_spark(gas, spark):
    plant, _ = burner()
    plant.command([gas, spark, 0])
    plant.advance(20_000)
    assert signal(plant, "flame") == 0.0
    assert signal(plant, "burner_heat") == 0.0


def test_the_flame_goes_out_with_the_gas_and_the_signal_follows():
    plant, events = burner()
    light(plant)
    plant.command([0, 0, 0])
    plant.advance(10_000)
    assert events[-3:] == [(3300, "gas valve shut"), (3300, "flame out: no gas"), (3600, "flame signal off")]


@pytest.mark.parametrize("gas", ["propane", "natural-gas", "butane"])
def test_three_trials_without_a_light_stay_under_a_quarter_of_the_limit(gas):
    """8 s trials at 9 kW with a purge of 15 s between them, then the space clears."""
    plant, _ = burner({"gas": gas})
    plant.begin_fault("does-not-light", None, {})
    for _ in range(3):
        assert 5.0 < trial(plant) < 25.0
        plant.advance(plant.time_ms + 15_000)
    plant.advance(plant.time_ms + 60_000)
    assert signal(plant, "unburned_gas") < 0.1


def test_a_valve_stuck_open_without_a_flame_passes_the_alarm_level():
    plant, _ = burner()
    plant.begin_fault("valve-stuck-open", None, {})
    plant.begin_fault("does-not-light", None, {})
    trial(plant)
    plant.advance(plant.time_ms + 60_000)
    assert signal(plant, "gas_valve") == 1.0
    assert signal(plant, "unburned_gas") > 25.0


def test_a_late_light_burns_what_has_gathered_and_tells_its_energy():
    plant, events = burner()
    plant.begin_fault("slow-to-light", None, {"extra": 5.0})
    plant.command([1, 1, 0])
    plant.advance(6000)
    gathered = signal(plant, "unburned_gas")
    plant.advance(7000)
    assert gathered > 10.0
    assert signal(plant, "unburned_gas") == 0.0
    told = next(text for _, text in events if "delayed ignition" in text)
    assert 30.0 < float(told.split(" of ")[1].split()[0]) < 9.0 * 6.2
    assert (6500, told) in events
    joules = signal(plant, "delayed_ignition")
    assert joules / 1000.0 == pytest.approx(float(told.split(" of ")[1].split()[0]), abs=0.51)
    burnt, metered = (plant._named(plant._stepper.now)[f"gas {name}"][1] for name in ("burned", "metered"))
    assert joules < -metered * 50.33e6
    assert burnt > 0.0


def test_flame_lost_is_momentary():
    plant, events = burner()
    light(plant)
    plant.begin_fault("flame-lost", None, {})
    assert signal(plant, "flame") == 0.0
    assert events[-1] == (3000, "flame lost")
    plant.advance(20_000)
    assert signals(plant)["flame"] == 0.0
    light(plant)
    plant.advance(60_000)
    assert signal(plant, "flame") == 1.0


def test_flame_lost_waits_for_the_next_flame_and_can_be_called_off():
    plant, events = burner()
    token = plant.begin_fault("flame-lost", None, {"stood": 2.0})
    plant.command([1, 1, 0])
    plant.advance(2000)
    plant.command([1, 0, 0])
    plant.advance(10_000)
    assert (3500, "flame lost") in events
    plant.end_fault(token)
    token = plant.begin_fault("flame-lost", None, {"stood": 2.0})
    plant.end_fault(token)
    light(plant)
    plant.advance(plant.time_ms + 10_000)
    assert signal(plant, "flame") == 1.0


def test_a_valve_stuck_closed_shuts_and_stays_shut():
    plant, _ = burner()
    light(plant)
    token = plant.begin_fault("valve-stuck-closed", None, {})
    plant.advance(4000)
    assert (signal(plant, "gas_valve"), signal(plant, "flame")) == (0.0, 0.0)
    plant.end_fault(token)
    plant.advance(5000)
    assert signal(plant, "gas_valve") == 1.0


def test_a_valve_stuck_open_shuts_when_the_fault_ends():
    plant, _ = burner()
    token = plant.begin_fault("valve-stuck-open", None, {})
    plant.advance(5000)
    assert signal(plant, "gas_valve") == 0.0
    light(plant)
    plant.command([0, 0, 0])
    plant.advance(20_000)
    assert (signal(plant, "valve_command"), signal(plant, "flame")) == (0.0, 1.0)
    plant.end_fault(token)
    plant.advance(20_300)
    assert (signal(plant, "gas_valve"), signal(plant, "flame")) == (0.0, 0.0)
