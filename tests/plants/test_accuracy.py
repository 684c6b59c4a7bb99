"""The error of every ready plant against Radau at 1e-10, all outputs switched (for two hours: benchmarks)."""

import pytest

from tests.plants.delay_oracle import until, worst_errors
from tests.plants.switched import CASES, made, schedule


def exchanging(plant, time_ms):
    """Advance in exchanges of 100 ms."""
    while plant.time_ms < time_ms:
        plant.advance(min(plant.time_ms + 100, time_ms))


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case[0]} {case[1]}")
def test_errs_by_less_than_a_tenth_of_a_millikelvin(case):
    """In exchanges of 100 ms by less than a third of that."""
    # The chamber's cycle is ten minutes, of a plant that is slow; the others' one and a half at most.
    commands = schedule(case, case[4] + 60_000)
    fine, coarse = worst_errors(lambda: made(case), commands, 95_000, (exchanging, until), "Radau")
    assert fine < 3e-5
    assert coarse < 1e-4


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case[0]} {case[1]}")
@pytest.mark.parametrize("steps", [1, 2, 7])
def test_goes_on_exactly_from_the_middle_of_equal_steps(case, steps):
    """A step prepares the next one of its length: that belongs to what is kept, on either side."""
    plant, other = made(case), made(case)
    plant.command(schedule(case, 3 * case[4])[0][1])
    plant.advance(30_033)
    for _ in range(steps):
        plant.advance(plant.time_ms + 100)
    other.restore(plant.save())
    for one in (plant, other):
        for length_ms in (100, 100, 37, 100, 250, 1000):
            one.advance(one.time_ms + length_ms)
    assert other.sample() == plant.sample()
    assert other._stepper.now == plant._stepper.now
