"""The mash over a burner and the electric kettle against a tight solver."""

import pytest

from plants import ready_plants
from tests.plants.delay_oracle import worst_error

MASH, KETTLE = ready_plants()["direct-fired-mash"], ready_plants()["electric-kettle"]
HEATING = [(1000, [1, 1, 1]), (30_000, [0, 0, 1]), (45_000, [1, 1, 1]), (80_000, [0, 0, 0])]


@pytest.mark.parametrize(
    ("kind", "setup"),
    [
        (MASH, {"mash_start": 60.0}),
        (MASH, {"mash_start": 93.5, "altitude": 1600.0, "flow": 12.0}),
        (KETTLE, {"kettle_start": 60.0}),
        (KETTLE, {"kettle_start": 94.5, "altitude": 1600.0, "kettle_open": 100.0, "element_power": 9.0}),
        (KETTLE, {"kettle_volume": 6.9, "kettle_start": 40.0, "sheath_limit": 1200.0}),
    ],
)
def test_agrees_with_a_tight_solver(kind, setup):
    """DOP853 of scipy at 1e-10 with exact delays; the last kettle leaves its element half bare."""
    schedule = [(time, command[: len(kind.actuators)]) for time, command in HEATING]
    assert worst_error(lambda: kind(setup), schedule, 100_000) < 1e-4


@pytest.mark.parametrize("fault", ["cold-water-added", "grain-added", "lid-off", "draught", "ambient-change"])
def test_disturbed_it_agrees_with_a_tight_solver(fault):
    """The events are those of a scout; the fault begins at once."""

    def make():
        plant = MASH({"mash_start": 66.0})
        plant.begin_fault(fault, "mash" if fault in ("cold-water-added", "lid-off") else None, {})
        return plant

    assert worst_error(make, HEATING, 60_000) < 1e-4
