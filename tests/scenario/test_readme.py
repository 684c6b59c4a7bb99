"""What scenarios/README.md shows is true."""

import re

from harness.quantity import UNITS
from harness.scenario import BENCH_KINDS, check_set, parse_scenario
from harness.scenario.requirement_set import read_set, set_path, shipped_sets
from harness.scenario.tables import AssertionTable, DisturbanceTable, HeadTable
from harness.shipped import shipped
from plants import ready_plants

TEXT = (shipped("scenarios") / "README.md").read_text()
EXAMPLE, WIRING, RAMP, REQUIRE, OWN_SET = re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)


def section(title):
    """The part of the page under one heading."""
    return TEXT.split(f"\n## {title}\n")[1].split("\n## ")[0]


def test_the_example_is_a_scenario_of_a_ready_plant():
    scenario = parse_scenario(EXAMPLE, "README.md")
    assert scenario.title == "Pump stops while the mash is heated"
    assert [one.kind for one in scenario.disturbances] == ["pump-stops", "set-panel"]


def test_the_ramp_is_one():
    example = parse_scenario(EXAMPLE.replace("[[assertion]]", RAMP + "[[assertion]]"), "README.md")
    (draught,) = (one for one in example.disturbances if one.kind == "draught")
    assert (draught.ramp_ms, draught.for_ms, draught.fade_ms) == (60_000, 300_000, 120_000)
    assert draught.sizes == {"speed": 3.0}


def test_the_wiring_is_one(plants):
    head = 'title = "T"\nplant = "kettle"\nlength = "1 min"\n'
    wiring = parse_scenario(
        head + WIRING + '[[assertion]]\ntitle = "dark"\nnever = "flame"\n', "x.toml", plants
    ).wiring
    assert (wiring.inputs, wiring.outputs) == ({"tank_probe": "liquor"}, {"gas": "gas_valve"})


def test_the_sets_are_as_told(tmp_path):
    head = 'title = "T"\nplant = "herms-gas"\nlength = "1 min"\n'
    titles = [one.title for one in parse_scenario(head + REQUIRE, "x.toml").assertions]
    assert titles[0] == "gas shut within 3 s of losing the flame"
    assert len(titles) == 3
    (tmp_path / "own.set.toml").write_text(OWN_SET)
    check_set(tmp_path / "own.set.toml", ready_plants())
    told = dict(re.findall(r"^\| `([a-z-]+)` \|.*\| (.*) \|$", section("`[[require]]`"), re.M))
    sets = {name: read_set(*set_path(name, tmp_path)) for name in shipped_sets()}
    assert told == {name: ", ".join(f"`{part}`" for part in one.parts) for name, one in sets.items()}


def test_every_key_and_kind_is_told():
    for title, table in (
        ("`[[disturbance]]`", DisturbanceTable),
        ("`[[assertion]]`", AssertionTable),
    ):
        assert [key for key in table.keys if f"`{key}" not in section(title)] == []
    tables = {"plant_setup", "panel", "disturbance", "require", "assertion"}
    assert [key for key in HeadTable.keys if f"`{key}`" not in section("The head")] == [
        key for key in HeadTable.keys if key in tables
    ]
    assert all(f"`{kind}`" in section("`[[disturbance]]`") for kind in BENCH_KINDS)


def test_every_unit_is_told():
    rates = [symbol for symbol, unit in UNITS.items() if unit.dimension == "temperature rate"]
    told = section("Quantities")
    assert [symbol for symbol in UNITS if f"`{symbol}`" not in told and symbol not in rates] == ["1"]
