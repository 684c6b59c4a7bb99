"""The part of the scenario's JSON Schema that a plant decides: its parameters, kinds, places, sizes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from harness.scenario.kinds import BENCH_KINDS, BenchKind
from harness.scenario.shapes import Shape, of_unit
from harness.scenario.tables import DisturbanceTable

if TYPE_CHECKING:
    from plants import Fault, Plant

#: Keys of a disturbance that only kinds of the bench take.
BENCH_KEYS = ("panel", "text")
GROWTH = ("ramp", "fade")
ENDS = ("for", "until")
BARE = ("", "1", "bool", "count")


def names_of(plants: Mapping[str, type[Plant]]) -> tuple[list[str], list[str]]:
    """The names of all probes and of all actuators."""
    probes = {probe.name for plant in plants.values() for probe in plant.probes}
    return sorted(probes), sorted({one.name for plant in plants.values() for one in plant.actuators})


def any_disturbance() -> Shape:
    """What holds of a disturbance whatever the plant."""
    return {
        "oneOf": [{"required": ["at"]}, {"required": ["when"]}],
        "allOf": [
            {"not": {"required": list(ENDS)}},
            {"if": {"required": ["times"]}, "then": {"required": ["repeat_every"]}},
            *(_if_kind(kind.kind, _of_bench(kind)) for kind in BENCH_KINDS.values()),
        ],
    }


def for_plant(name: str, plant: type[Plant]) -> dict[str, Shape]:
    """Two definitions: `NAME-setup` and `NAME-disturbance`."""
    setup: Shape = {}
    for parameter in plant.parameters:
        unit = "" if parameter.unit in BARE else f" {parameter.unit}"
        said = f"{parameter.about} Default {parameter.default:.6g}{unit}."
        setup[parameter.name] = {
            "description": said.strip(),
            **of_unit(parameter.unit, parameter.low, parameter.high),
        }
    for choice in plant.choices:
        setup[choice.name] = {
            "description": f"{choice.about} Default {choice.options[0]}.".strip(),
            "enum": list(choice.options),
        }
    kinds = sorted([*(fault.kind for fault in plant.faults), *BENCH_KINDS])
    return {
        f"{name}-setup": {"type": "object", "properties": setup, "additionalProperties": False},
        f"{name}-disturbance": {
            "properties": {"kind": {"enum": kinds}},
            "additionalProperties": True,
            "allOf": [_if_kind(fault.kind, _of_fault(fault)) for fault in plant.faults],
        },
    }


def _if_kind(kind: str, then: Shape) -> Shape:
    return {"if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]}, "then": then}


def _of_bench(kind: BenchKind) -> Shape:
    keys = ["kind", "at", "when", "repeat_every", "times"]
    keys += [kind.needs] if kind.needs else []
    keys += ENDS if kind.lasting else ()
    properties: Shape = {size.name: _size(size.about, size.unit, size.low, size.high) for size in kind.sizes}
    if kind.places:
        properties["place"] = {"enum": list(kind.places)}
    return _closed(kind.about, [*keys, *properties], properties, [kind.needs] if kind.needs else [])


def _of_fault(fault: Fault) -> Shape:
    keys = [key for key in DisturbanceTable.keys if key not in BENCH_KEYS]
    keys = [key for key in keys if (fault.ramps or key not in GROWTH) and (fault.places or key != "place")]
    properties: Shape = {size.name: _size(size.about, size.unit, size.low, size.high) for size in fault.sizes}
    keys += properties
    if fault.places:
        properties["place"] = {"enum": list(fault.places)}
    return _closed(fault.about, keys, properties, ["place"] if fault.places else [])


def _size(about: str, unit: str, low: float, high: float) -> Shape:
    return {"description": about, **of_unit(unit, low, high)} if about else of_unit(unit, low, high)


def _closed(about: str, keys: Iterable[str], properties: Shape, required: list[str]) -> Shape:
    made: Shape = {"description": about} if about else {}
    made |= {
        "properties": properties,
        "additionalProperties": True,
        "propertyNames": {"enum": list(dict.fromkeys(keys))},
    }
    return made | ({"required": required} if required else {})
