"""Relays of both kinds: when they move, how they wear, what fails."""

import pytest

from plants import ready_plants
from tests.plants.small_plants import signal, signals

KETTLE, CHAMBER, KILN = (
    ready_plants()[name] for name in ("electric-kettle", "fermentation-chamber", "pottery-kiln")
)


def moments(plant, command_at_ms, on):
    """When the relay of a plant is told to have moved after a command."""
    told = []
    plant.on_change = lambda time_ms, text: told.append(time_ms) if "relay" in text else None
    plant.advance(command_at_ms)
    plant.command([on] + [0] * (len(plant.actuators) - 1))
    plant.advance(command_at_ms + 100)
    return told


@pytest.mark.parametrize(("at_ms", "moved_ms"), [(1000, 1010), (1003, 1010), (1009, 1010), (1010, 1020)])
def test_a_solid_state_relay_changes_at_the_next_crossing_of_50_hz(at_ms, moved_ms):
    assert moments(KETTLE({"relay_kind": "solid-state"}), at_ms, 1) == [moved_ms]


@pytest.mark.parametrize("at_ms", [1000, 1003, 1009])
def test_a_mechanical_one_takes_its_time_whenever_it_is(at_ms):
    assert moments(KETTLE({"relay_kind": "mechanical"}), at_ms, 1) == [at_ms + 10]


@pytest.mark.parametrize("kind", [KETTLE, KILN], ids=lambda kind: kind.name)
def test_a_contact_welds_when_its_life_is_over(kind):
    """Of a life of 100 closings 97 are gone: the third one of the run does not open again."""
    told = []
    plant = kind({"relay_kind": "mechanical", "relay_life": 100.0, "relay_used": 97.0})
    plant.on_change = lambda time_ms, text: told.append((time_ms, text))
    for second in range(1, 9):
        plant.command([second % 2])
        plant.advance(second * 1000)
    assert (5 * 1000 - 990, "element relay has welded: worn out") in told
    assert signals(plant)["relay_operations"] == 3
    assert signals(plant)["element_heat"] > 0.0


def test_thyristors_do_not_wear():
    kettle = KETTLE({"relay_life": 10.0, "relay_used": 500.0})
    kettle.command([1])
    kettle.advance(1000)
    kettle.command([0])
    kettle.advance(2000)
    assert signal(kettle, "relay") == 0.0


def test_one_thyristor_passes_half_the_power():
    kettle = KETTLE()
    token = kettle.begin_fault("relay-half-wave", "element", {})
    kettle.advance(500)
    assert kettle.idle_faults() == ["relay-half-wave element"]
    kettle.command([1])
    kettle.advance(1000)
    assert signal(kettle, "element_heat") == 2750.0
    assert kettle.idle_faults() == []
    kettle.end_fault(token)
    assert signal(kettle, "element_heat") == 5500.0


def test_a_contact_has_no_half_waves():
    kiln = KILN()
    kiln.command([1])
    kiln.advance(500)
    kiln.begin_fault("relay-half-wave", "element", {})
    assert signal(kiln, "element_heat") == 6000.0
    assert kiln.idle_faults() == ["relay-half-wave element"]


def test_the_relays_of_a_chamber_are_chosen_one_by_one():
    chamber = CHAMBER({"heater_relay_kind": "solid-state", "relay_life": 10.0, "relay_used": 9.0})
    for on in (1, 0):
        chamber.command([on, on])
        chamber.advance(chamber.time_ms + 1000)
    values = signals(chamber)
    assert (values["cooler_relay"], values["heater_relay"]) == (1.0, 0.0)
    assert (values["cooler_operations"], values["heater_operations"]) == (1.0, 1.0)
    assert [fault.places for fault in CHAMBER.faults if fault.kind == "relay-half-wave"] == [("heater",)]
