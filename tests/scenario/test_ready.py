"""The ready plants and scenarios fit the scenario file."""

import pytest

from harness.quantity import format_number
from harness.scenario import BENCH_KINDS, find_scenarios, load_scenario
from harness.scenario.tables import DisturbanceTable
from harness.scenario.values import read_in_unit
from harness.shipped import shipped
from plants import ready_plants

PLANTS = sorted(ready_plants().values(), key=lambda plant: plant.name)
SCENARIOS = find_scenarios([shipped("scenarios")])


def written(value, unit):
    """A default as a scenario file would state it."""
    if unit == "bool":
        return bool(value)
    return value if unit in ("count", "1", "") else f"{format_number(value)} {unit}"


@pytest.mark.parametrize("plant", PLANTS, ids=lambda plant: plant.name)
def test_every_default_can_be_written(plant):
    sizes = [size for fault in plant.faults for size in fault.sizes]
    for one in (*plant.parameters, *sizes):
        assert read_in_unit(written(one.default, one.unit), one.unit, one.low, one.high) == one.default, one


@pytest.mark.parametrize("plant", PLANTS, ids=lambda plant: plant.name)
def test_no_kind_or_size_hides_another_key(plant):
    keys = set(DisturbanceTable.keys)
    for fault in plant.faults:
        assert fault.kind not in BENCH_KINDS
        assert not keys & {size.name for size in fault.sizes}


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_ready_scenarios_are_right(file):
    scenario = load_scenario(file)
    assert scenario.why, "a ready scenario says why it is played"
    assert scenario.themes
    assert all(spec.basis for spec in scenario.assertions), "each assertion states its basis"
