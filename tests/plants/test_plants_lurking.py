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
    plant.begin_fault("pump-stops", None, {})
    assert plant.idle_faults() == []
