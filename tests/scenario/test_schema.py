"""The JSON Schemas against the loader: they refuse nothing that it takes, and what is wrong in form."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft7Validator

from harness.cli import main
from harness.errors import FileMistakesError
from harness.quantity import OTHER_SPELLINGS, UNITS, QuantityError, parse_quantity
from harness.scenario import BENCH_KINDS, parse_scenario
from harness.scenario.requirement_set import shipped_sets
from harness.scenario.schema import as_text, scenario_schema, schemas
from harness.scenario.schema_words import words_of
from harness.scenario.shapes import quantity
from harness.shipped import shipped
from plants import ready_plants
from tests.scenario.test_mutations import LINES, ODD, VALUES

HOME = shipped("scenarios")
BAD = Path(__file__).parent / "bad"
SCHEMAS = schemas(ready_plants())
#: Wrong only in what two values say together, in a range, or in another file.
BEYOND = {
    "choices_together",
    "one_mistake_at_wall_pace",
    "same_title",
    "unit_out_of_range",
    "wiring_file_missing",
}
KINDS = {".set": "set.schema.json", ".wiring": "wiring.schema.json", "": "scenario.schema.json"}


@pytest.fixture(scope="module")
def kettle(plants: Any) -> Draft7Validator:
    """For scenarios of the made-up plant."""
    return Draft7Validator(scenario_schema(plants, words_of(HOME / "README.md")))


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_files_are_what_the_models_say(name: str) -> None:
    Draft7Validator.check_schema(SCHEMAS[name])
    assert " " not in "".join(re.findall(r'"\$ref":"(.*?)"', as_text(SCHEMAS[name])))  # editors refuse it
    told = "after a change: unlit schema scenarios/schema"
    assert (HOME / "schema" / name).read_text(encoding="utf-8") == as_text(SCHEMAS[name]), told


def test_the_command_writes_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", str(tmp_path / "new")]) == 0
    assert {path.name: path.read_text() for path in (tmp_path / "new").iterdir()} == {
        name: as_text(made) for name, made in SCHEMAS.items()
    }
    assert main(["schema", "/dev/null/x"]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_every_ready_file_keeps_to_its_schema() -> None:
    checked = 0
    for path in sorted(HOME.rglob("*.toml")):
        schema = SCHEMAS[KINDS[Path(path.stem).suffix]]
        found = Draft7Validator(schema).iter_errors(tomllib.loads(path.read_text()))
        assert [f"{path.name} {error.json_path}: {error.message}" for error in found] == []
        checked += 1
    assert checked > 70


def bad_files() -> Iterator[tuple[str, dict[str, Any]]]:
    for path in sorted(BAD.glob("*.toml")):
        if not path.name.startswith("syntax_") and not path.name.endswith(".wiring.toml"):
            yield path.stem, tomllib.loads(path.read_text())


def test_files_of_a_wrong_form_are_refused(kettle: Draft7Validator) -> None:
    taken = {name for name, data in bad_files() if kettle.is_valid(data)}
    assert taken == BEYOND
    wiring = Draft7Validator(SCHEMAS["wiring.schema.json"])
    assert not wiring.is_valid(tomllib.loads((BAD / "faulty.wiring.toml").read_text()))


@settings(max_examples=100)
@given(st.data())
def test_what_the_loader_takes_the_schema_takes(plants: Any, kettle: Draft7Validator, data: Any) -> None:
    lines = list(LINES)
    for _ in range(data.draw(st.integers(1, 2))):
        here = data.draw(st.sampled_from([i for i, line in enumerate(lines) if " = " in line]))
        lines[here] = f"{lines[here].split(' = ')[0]} = {data.draw(st.sampled_from(VALUES + ODD))}"
    text = "\n".join(lines)
    try:
        parse_scenario(text, "x.toml", plants)
    except FileMistakesError:
        return
    assert [error.message for error in kettle.iter_errors(tomllib.loads(text))] == []


@given(
    number=st.from_regex(r"[+-]?([0-9]{1,4}(\.[0-9]{0,3})?|\.[0-9]{1,3})([eE][+-]?[0-9])?", fullmatch=True),
    space=st.sampled_from(["", " ", "  "]),
    unit=st.sampled_from([*UNITS, *OTHER_SPELLINGS]),
    wanted=st.sampled_from(list(UNITS)),
)
def test_a_quantity_is_one_of_its_dimension(number: str, space: str, unit: str, wanted: str) -> None:
    text = f"{number}{space}{unit}"
    try:
        parsed = parse_quantity(text)
    except QuantityError:
        return
    matches = re.search(quantity(wanted)["pattern"], text) is not None
    assert matches == (parsed.dimension == UNITS[wanted].dimension)


@pytest.mark.parametrize("text", ["1 h 30 min", "20 min 5 s", "1 h 2 min 3.5 s", " 8 min "])
def test_time_in_parts(text: str) -> None:
    assert parse_quantity(text)
    assert re.search(quantity("s")["pattern"], text)


def test_everything_that_can_be_named_is_there() -> None:
    schema = SCHEMAS["scenario.schema.json"]
    defs = schema["$defs"]
    assert schema["properties"]["plant"]["anyOf"][0]["enum"] == list(ready_plants())
    assert {*BENCH_KINDS} < {*defs["disturbance"]["properties"]["kind"]["anyOf"][0]["enum"]}
    assert defs["require"]["properties"]["use"]["anyOf"][0]["enum"] == shipped_sets()
    for name, plant in ready_plants().items():
        settable = [one.name for one in (*plant.parameters, *plant.choices)]
        assert sorted(defs[f"{name}-setup"]["properties"]) == sorted(settable)
        kinds = defs[f"{name}-disturbance"]["properties"]["kind"]["enum"]
        assert set(kinds) == {*BENCH_KINDS, *(fault.kind for fault in plant.faults)}


def test_every_key_says_what_it_means() -> None:
    schema = SCHEMAS["scenario.schema.json"]
    for table in (
        schema,
        *(schema["$defs"][name] for name in ("disturbance", "assertion", "require", "wiring")),
    ):
        assert [key for key, shape in table["properties"].items() if not shape.get("description")] == []


def test_a_plant_of_one_s_own_is_left_open() -> None:
    data = {
        "title": "T",
        "plant": "my_plant.py",
        "length": "5 min",
        "plant_setup": {"size": "3 L"},
        "disturbance": [{"kind": "lid-falls", "at": "1 min", "weight": "2 kg"}],
        "assertion": [{"title": "t", "never": "flame"}],
    }
    assert Draft7Validator(SCHEMAS["scenario.schema.json"]).is_valid(data)
    assert not Draft7Validator(SCHEMAS["scenario.schema.json"]).is_valid(data | {"plant": "herms-gas"})
