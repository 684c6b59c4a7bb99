"""Faults that wait for something to act on, and say whether they have."""

import pytest

from plants import Plant, ready_plants

OFF, HEAT = [0.0, 0.0, 0.0], [1.0, 1.0, 1.0]


def rig() -> Plant:
    return ready_plants()["herms-gas"]()


@pytest.mark.parametrize(
    ("kind", "before", "after"),
    [
        ("flame-lost", HEAT, HEAT),
        ("slow-to-light", OFF, HEAT),
        ("does-not-light", OFF, HEAT),
        ("valve-stuck-open", HEAT, OFF),
        ("valve-stuck-closed", OFF, HEAT),
    ],
)
def test_a_fault_has_acted_once_it_met_what_it_waits_for(
    kind: str, before: list[float], after: list[float]
) -> None:
    plant = rig()
    plant.command(before)
    plant.advance(10_000)
    plant.begin_fault(kind, None, {})
    plant.command(after)
    plant.advance(30_000)
    assert plant.idle_faults() == []


@pytest.mark.parametrize(
    "kind", ["flame-lost", "slow-to-light", "does-not-light", "valve-stuck-open", "valve-stuck-closed"]
)
def test_a_fault_that_met_nothing_is_told(kind: str) -> None:
    plant = rig()
    token = plant.begin_fault(kind, None, {})
    plant.advance(30_000)
    plant.end_fault(token)
    assert plant.idle_faults() == [kind]


def test_a_saved_plant_remembers_what_lurks() -> None:
    plant, other = rig(), rig()
    plant.begin_fault("flame-lost", None, {})
    other.restore(plant.save())
    assert other.idle_faults() == ["flame-lost"]


def test_a_fault_that_acts_at_once_never_lurks() -> None:
    plant = rig()
    plant.begin_fault("probe-open", "liquor", {})
    plant.begin_fault("draught", None, {})
    assert plant.idle_faults() == []


@pytest.mark.parametrize(
    ("name", "kind", "place", "on"),
    [
        ("herms-gas", "pump-stops", None, "pump"),
        ("herms-gas", "flow-restricted", None, "pump"),
        ("herms-gas", "air-lock", None, "pump"),
        ("herms-gas", "low-gas-pressure", None, "gas_valve"),
        ("electric-kettle", "relay-stuck-off", "element", "relay"),
        ("electric-kettle", "element-open", None, "relay"),
        ("electric-kettle", "low-supply-voltage", None, "relay"),
        ("fermentation-chamber", "compressor-locked", None, "cooler"),
        ("fermentation-chamber", "refrigerant-lost", None, "cooler"),
        ("fermentation-chamber", "element-worn", "heater", "heater"),
        ("pottery-kiln", "element-open", "element", "element"),
    ],
)
def test_what_stands_still_has_nothing_to_act_on(name: str, kind: str, place: str | None, on: str) -> None:
    plant = ready_plants()[name]()
    plant.begin_fault(kind, place, {})
    plant.advance(5_000)
    assert plant.idle_faults() == [f"{kind} {place}" if place else kind]
    plant.command([float(actuator.name == on) for actuator in plant.actuators])
    plant.advance(10_000)
    assert plant.idle_faults() == []
    (fault,) = (fault for fault in plant.faults if fault.kind == kind)
    assert fault.actuator(place) == on


def test_a_welded_relay_acts_once_it_should_open() -> None:
    plant = ready_plants()["pottery-kiln"]()
    plant.command([1.0])
    plant.advance(1_000)
    plant.begin_fault("relay-welded-on", "element", {})
    plant.advance(2_000)
    assert plant.idle_faults() == ["relay-welded-on element"]
    plant.command([0.0])
    assert plant.idle_faults() == []


def test_every_actuator_of_a_fault_is_one_of_its_plant() -> None:
    for plant in ready_plants().values():
        names = {actuator.name for actuator in plant.actuators}
        probes = {probe.name for probe in plant.probes}
        for fault in plant.faults:
            assert {fault.actuator(place) for place in fault.places or (None,)} <= {"", *names}
            if fault.probes:
                assert {name for place in fault.places for name in place.split("+")} <= probes
