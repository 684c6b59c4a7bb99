"""JSON Schemas of the scenario, wiring and requirement-set files, for editors that complete and check.

Draft 7, which editors know best. They say which keys there are, of what type, and for each ready plant which
parameters, kinds, places and sizes; what they refuse the loader refuses too. What two values say together,
what a condition names and whether a value is in range is told by `unlit check` alone.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING

from harness.scenario.kinds import BENCH_KINDS
from harness.scenario.requirement_set import read_set, set_path, shipped_sets
from harness.scenario.schema_plants import any_disturbance, for_plant, names_of
from harness.scenario.schema_words import Words, words_of
from harness.scenario.shapes import TIME, Shape, definitions
from harness.scenario.table import Table
from harness.scenario.tables import (
    AssertionTable,
    DisturbanceTable,
    HeadTable,
    SetParameterTable,
    SetTable,
)
from harness.shipped import shipped

if TYPE_CHECKING:
    from plants import Plant

    Plants = Mapping[str, type[Plant]]

DRAFT = "http://json-schema.org/draft-07/schema#"
CHANNEL = r"^[a-z][a-z0-9_]{0,23}$"
SETTING: Shape = {"anyOf": [{"type": "boolean"}, {"type": "number"}, {"type": "string", "pattern": "[0-9]"}]}
#: Further keys are said elsewhere; without a word some editors take them for slips.
OPEN: Shape = {"type": "object", "additionalProperties": True}
PANEL: Shape = {"type": "object", "propertyNames": {"pattern": CHANNEL}, "additionalProperties": SETTING}


def schemas(plants: Plants) -> dict[str, Shape]:
    """Name of the file to its schema."""
    words = words_of(shipped("scenarios") / "README.md")
    return {
        "scenario.schema.json": scenario_schema(plants, words),
        "wiring.schema.json": wiring_schema(plants, words),
        "set.schema.json": set_schema(words),
    }


def as_text(schema: Shape) -> str:
    """A schema as it lies in its file: a line each of its keys and of its definitions."""
    parts = {key: _short(value) for key, value in schema.items() if key != "$defs"}
    if "$defs" in schema:
        parts["$defs"] = _lines({key: _short(value) for key, value in schema["$defs"].items()})
    return _lines(parts) + "\n"


def _short(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _lines(parts: Mapping[str, str]) -> str:
    return "{\n" + ",\n".join(f"{json.dumps(key)}: {text}" for key, text in parts.items()) + "\n}"


def scenario_schema(plants: Plants, words: Words) -> Shape:
    """Of a scenario file, with the plants that it may name; a plant of a person's own is left open."""
    head = _table(HeadTable, words["head"])
    known = head["properties"]
    known["plant"]["anyOf"] = [{"enum": list(plants)}, {"pattern": r"\.py$"}]
    known["plant_setup"] |= OPEN
    known["panel"] |= PANEL
    known["wiring"] |= {
        "anyOf": [{"type": "string", "pattern": r"\.wiring\.toml$"}, {"$ref": "#/$defs/wiring"}]
    }
    for name in ("disturbance", "require", "assertion"):
        known[name] |= {"type": "array", "items": {"$ref": f"#/$defs/{name}"}}
    defs = {
        **definitions(),
        "wiring": _wiring(plants, words),
        "disturbance": _disturbance(plants, words),
        "require": _require(words),
        "assertion": _table(AssertionTable, words["assertion"]),
    }
    for name, plant in plants.items():
        defs |= for_plant(name, plant)
    return {
        **_about("scenario", "A scripted run of a heat controller on the bench."),
        **head,
        "anyOf": [{"required": ["assertion"]}, {"required": ["require"]}],
        "allOf": [_if_plant(name) for name in plants],
        "$defs": defs,
    }


def wiring_schema(plants: Plants, words: Words) -> Shape:
    """Of a wiring file."""
    return {
        **_about("wiring", "Which channel of the device is which of the plant."),
        **_wiring(plants, words),
    }


def set_schema(words: Words) -> Shape:
    """Of a requirement set."""
    head = _table(SetTable, {})
    assertion = _table(AssertionTable, words["assertion"])
    assertion["properties"]["part"] = {
        "type": "string",
        "pattern": r"\S",
        "description": words["set"]["part"],
    }
    assertion["required"] = ["part", *assertion["required"]]
    for key, shape in assertion["properties"].items():
        if shape.get("pattern") == TIME["pattern"]:
            placed = {"type": "string", "pattern": r"\{[^{}]+\}"}
            assertion["properties"][key] = {"description": shape["description"], "anyOf": [TIME, placed]}
    parameter = _table(SetParameterTable, {})
    parameter["oneOf"] = [{"required": ["default"]}, {"required": ["example"]}]
    head["properties"]["parameter"] |= {"type": "object", "additionalProperties": parameter}
    head["properties"]["assertion"] |= {"type": "array", "minItems": 1, "items": assertion}
    head["required"].append("assertion")
    return {**_about("set", "Assertions with parameters, for scenarios to include."), **head}


def _about(name: str, description: str) -> Shape:
    return {"$schema": DRAFT, "title": f"Unlit {name} file", "description": description}


def _table(table: type[Table], words: Mapping[str, str]) -> Shape:
    """A table's schema, each key with what is said of it."""
    properties: dict[str, Shape] = {
        name: {"description": words[name], **one.form.shape} if name in words else {**one.form.shape}
        for name, one in table.keys.items()
    }
    required = [name for name, one in table.keys.items() if one.required]
    found: Shape = {"type": "object", "properties": properties, "required": required}
    return found if table.open else {**found, "additionalProperties": False}


def _if_plant(name: str) -> Shape:
    then = {
        "plant_setup": {"$ref": f"#/$defs/{name}-setup"},
        "disturbance": {"type": "array", "items": {"$ref": f"#/$defs/{name}-disturbance"}},
    }
    when = {"properties": {"plant": {"const": name}}, "required": ["plant"]}
    return {"if": when, "then": {"properties": then}}


def _disturbance(plants: Plants, words: Words) -> Shape:
    table = _table(DisturbanceTable, words["disturbance"])
    table["properties"]["panel"] |= {**PANEL, "minProperties": 1}
    table["properties"]["kind"]["anyOf"] = [
        {
            "enum": sorted(
                {*BENCH_KINDS, *(fault.kind for plant in plants.values() for fault in plant.faults)}
            )
        },
        {"pattern": r"\S"},  # of a plant of a person's own
    ]
    return table | OPEN | any_disturbance()


def _wiring(plants: Plants, words: Words) -> Shape:
    def joined(names: list[str]) -> Shape:
        target = {"anyOf": [{"enum": names}, {"type": "string"}]}
        return {"type": "object", "propertyNames": {"pattern": CHANNEL}, "additionalProperties": target}

    probes, actuators = names_of(plants)
    said = words["wiring"]
    unwired = {"type": "array", "items": {"anyOf": [{"enum": actuators}, {"type": "string"}]}}
    properties = {
        "inputs": joined(probes) | {"description": said["inputs"]},
        "outputs": joined(actuators) | {"description": said["outputs"]},
        "unwired": unwired | {"description": said["unwired"]},
    }
    return {"type": "object", "properties": properties, "additionalProperties": False}


def _require(words: Words) -> Shape:
    said = words["require"]
    ready = [read_set(*set_path(name, shipped("scenarios"))) for name in shipped_sets()]
    names = shipped_sets()
    use = {
        "type": "string",
        "anyOf": [{"enum": names}, {"pattern": r"\.set\.toml$"}],
        "description": said["use"],
    }
    parts = {"type": "array", "minItems": 1, "items": {"type": "string"}, "description": said["parts"]}
    return {
        "type": "object",
        "properties": {"use": use, "parts": parts},
        "required": ["use"],
        "additionalProperties": True,
        "allOf": [
            {
                "if": {"properties": {"use": {"const": name}}, "required": ["use"]},
                "then": {
                    "properties": {
                        "use": True,
                        "parts": {"items": {"enum": found.parts}},
                        **{
                            key: {
                                "type": "integer" if isinstance(one.example, int) else "string",
                                "description": one.about,
                                "examples": [one.example],
                            }
                            for key, one in found.parameters.items()
                        },
                    },
                    "required": [key for key, one in found.parameters.items() if one.required],
                    "additionalProperties": False,
                },
            }
            for name, found in zip(names, ready, strict=True)
        ],
    }
