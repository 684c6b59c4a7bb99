"""A step prepares the next one: an event that changes nothing leaves it so, one that does begins anew."""

import pytest

from plants import ready_plants
from tests.plants.switched import CASES, made, schedule

READY = ready_plants()


def stepping(name, setup):
    """A plant in the middle of equal steps of 100 ms."""
    plant = READY[name](setup)
    for _ in range(20):
        plant.advance(plant.time_ms + 100)
    assert plant._stepper.ahead_ms == 100
    return plant


def test_a_command_that_moves_nothing_yet_leaves_a_prepared_step():
    """A relay follows its command ten milliseconds later."""
    plant = stepping("electric-kettle", {"kettle_start": 60.0})
    before = plant._stepper.save()
    plant.command([1])
    assert plant._stepper.save() == before
    plant.advance(plant.time_ms + 10)
    assert plant._stepper.ahead_ms == 0


@pytest.mark.parametrize("fault", ["lid-off", "draught", "cold-water-added"])
def test_what_changes_rates_or_states_begins_anew(fault):
    """Also where no input and no conductance changes: a lid that is off bears on evaporation only."""
    plant = stepping("electric-kettle", {"kettle_start": 90.0, "kettle_loss": 0.0, "kettle_open": 10.0})
    places = next(one.places for one in plant.faults if one.kind == fault)
    plant.begin_fault(fault, places[0] if places else None, {})
    stepper, first = plant._stepper, len(plant._net.states) + len(plant._net.inputs)
    assert stepper.ahead_ms == 0
    assert stepper.now[first : first + stepper._rates] == pytest.approx(stepper.rates_now(), rel=1e-9)


@pytest.mark.parametrize("case", CASES[:: len(CASES) // 3], ids=lambda case: f"{case[0]} {case[1]}")
def test_every_stop_lies_ahead(case):
    """Nothing that has been dealt with is waited for again."""
    plant = made(case)
    commands = dict(schedule(case, 3 * case[4]))
    for now in range(0, 100_000, 250):
        if now in commands:
            plant.command(commands[now])
        plant.advance(now + 250)
        assert plant._next_ms > plant.time_ms
