"""What scenarios/README.md shows is true."""

import re

from harness.quantity import UNITS
from harness.scenario import BENCH_KINDS, parse_scenario
from harness.scenario.tables import AssertionTable, DisturbanceTable, HeadTable, keys_of
from harness.shipped import shipped

TEXT = (shipped("scenarios") / "README.md").read_text()
EXAMPLE, WIRING = re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)


def section(title):
    """The part of the page under one heading."""
    return TEXT.split(f"\n## {title}\n")[1].split("\n## ")[0]


def test_the_example_is_a_scenario_of_a_ready_plant():
    scenario = parse_scenario(EXAMPLE, "README.md")
    assert scenario.title == "Pump stops while the mash is heated"
    assert [one.kind for one in scenario.disturbances] == ["pump-stops", "set-panel"]


def test_the_wiring_is_one(plants):
    head = 'title = "T"\nplant = "kettle"\nlength = "1 min"\n'
    wiring = parse_scenario(
        head + WIRING + '[[assertion]]\ntitle = "dark"\nnever = "flame"\n', "x.toml", plants
    ).wiring
    assert (wiring.inputs, wiring.outputs) == ({"tank_probe": "liquor"}, {"gas": "gas_valve"})


def test_every_key_and_kind_is_told():
    for title, table in (
        ("`[[disturbance]]`", DisturbanceTable),
        ("`[[assertion]]`", AssertionTable),
    ):
        assert [key for key in keys_of(table) if f"`{key}" not in section(title)] == []
    tables = {"plant_setup", "panel", "disturbance", "assertion"}
    assert [key for key in keys_of(HeadTable) if f"`{key}`" not in section("The head")] == [
        key for key in keys_of(HeadTable) if key in tables
    ]
    assert all(f"`{kind}`" in section("`[[disturbance]]`") for kind in BENCH_KINDS)


def test_every_unit_is_told():
    rates = [symbol for symbol, unit in UNITS.items() if unit.dimension == "temperature rate"]
    told = section("Quantities")
    assert [symbol for symbol in UNITS if f"`{symbol}`" not in told and symbol not in rates] == ["1"]
