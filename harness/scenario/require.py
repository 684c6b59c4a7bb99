"""`[[require]]`: the assertions of requirement sets, with a scenario's own numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from harness.assertions import AssertionSpec, check_spec, named_signals
from harness.errors import FileMistakesError, Mistake
from harness.quantity import QuantityError
from harness.scenario.disturbances import DEVICE_PREFIXES, tables_of
from harness.scenario.findings import Findings
from harness.scenario.forms import shown
from harness.scenario.names import listed, quoted, unknown
from harness.scenario.requirement_set import (
    SUFFIX,
    RequirementSet,
    Value,
    examples_of,
    read_set,
    set_path,
    shipped_sets,
)
from harness.scenario.source import KeyPath
from harness.scenario.specs import read_spec
from harness.scenario.tables import unknown_key

if TYPE_CHECKING:
    from plants import Plant

_OWN_KEYS = ("use", "parts")


def read_requirements(raw: object, plant: type[Plant] | None, findings: Findings) -> list[AssertionSpec]:
    """The assertions of all `[[require]]` tables, those that are right."""
    specs: list[AssertionSpec] = []
    for i, one in tables_of(raw or [], "require", findings):
        path = ("require", i)
        found = _find_set(one.get("use"), path, findings)
        if found is None:
            continue
        parts = _parts(one.get("parts"), found, path, findings)
        values = _values(one, found, path, findings)
        if parts is not None and values is not None:
            specs += _expand(found, parts, values, plant, path, findings)
    return specs


def _find_set(name: object, path: KeyPath, findings: Findings) -> RequirementSet | None:
    if not isinstance(name, str) or not name.strip() or not name.isprintable():
        said = 'missing key "use"' if name is None else f"use: {shown(name)} is not the name of a set"
        findings.at_value((*path, "use"), f'{said}. Write for example use = "flame-safeguard"')
        return None
    ready = shipped_sets()
    if not name.endswith(SUFFIX) and name not in ready:
        mend = f"An own set's file ends in {SUFFIX}"
        findings.at_value((*path, "use"), f"use: {unknown('requirement set', name, ready)} {mend}")
        return None
    try:
        return read_set(*set_path(name, Path(findings.file).parent))
    except FileMistakesError as error:
        for mistake in error.mistakes:
            findings.at_value((*path, "use"), f"use: {mistake}")
        return None


def _parts(raw: object, found: RequirementSet, path: KeyPath, findings: Findings) -> list[int] | None:
    """Which of the set's assertions are wanted, by their place."""
    if raw is None:
        return list(range(len(found.raw)))
    below = (*path, "parts")
    if not isinstance(raw, list) or not raw or not all(isinstance(part, str) for part in raw):
        findings.at_value(below, f"parts: {shown(raw)} is no list of parts; {listed(found.parts)}")
        return None
    wrong = [part for part in raw if part not in found.parts]
    for part in wrong:
        findings.at_value(below, f"parts: {unknown('part', part, found.parts)}")
    return None if wrong else [at for at, part in enumerate(found.parts) if part in raw]


def _values(
    raw: Mapping[str, Any], found: RequirementSet, path: KeyPath, findings: Findings
) -> dict[str, Value] | None:
    """The value of each parameter: the scenario's, or the default."""
    values, right = examples_of(found), True
    for key, value in raw.items():
        if key in _OWN_KEYS:
            continue
        parameter = found.parameters.get(key)
        if parameter is None:
            known = [*_OWN_KEYS, *found.parameters]
            findings.at_key((*path, key), unknown_key(key, known, path, f"parameter of {quoted(raw['use'])}"))
            right = False
            continue
        try:
            values[key] = parameter.read(value)
        except QuantityError as error:
            findings.at_value((*path, key), f"{key}: {error} ({found.file}: {parameter.about})")
            right = False
    for name, parameter in found.parameters.items():
        if parameter.required and name not in raw:
            example = f'{name} = "{parameter.example}"'
            findings.at_key(path, f"{quoted(raw['use'])} needs {name}, {parameter.about}, such as {example}")
            right = False
    return values if right else None


def _expand(
    found: RequirementSet,
    parts: list[int],
    values: Mapping[str, Value],
    plant: type[Plant] | None,
    path: KeyPath,
    findings: Findings,
) -> Iterator[AssertionSpec]:
    """The wanted assertions; mistakes stand at the `[[require]]` and name the set's line."""
    inner = Findings(found.file, found.findings.places)
    required_at = findings.places.key(path)
    specs = []
    for at in parts:
        spec = read_spec(found.filled(at, values), ("assertion", at), inner)
        if spec is not None:
            specs.append(replace(spec, required_at=required_at))
    units = {signal.name: signal.unit for signal in plant.signals} if plant else None
    lacking = sorted(set().union(*(lacks(spec, units) for spec in specs))) if units is not None else []
    if lacking:
        assert plant is not None
        said = f"the set needs {', '.join(lacking)}, which {plant.name} does not have"
        mend = "Use another set, other parts, or the plant's own names"
        findings.at_value((*path, "use"), f"use: {said}. {mend}")
        return
    for spec in specs:
        for key, what in check_spec(spec, units, DEVICE_PREFIXES) if units is not None else ():
            inner.at_line(spec.lines.get(key, spec.lines[""]), f"{key}: {what}")
        yield spec
    for mistake in inner.mistakes:
        findings.at_key(path, f"use: {mistake}")


def lacks(spec: AssertionSpec, units: Mapping[str, str]) -> set[str]:
    """The signals that an assertion speaks of and a plant with these does not have."""
    return {name for name in named_signals(spec) - units.keys() if not name.startswith(DEVICE_PREFIXES)}


def check_set(path: Path, plants: Mapping[str, type[Plant]]) -> None:
    """FileMistakesError with all mistakes of a set, as it stands and for each plant that has its signals."""
    found = read_set(path, str(path))
    inner = found.findings
    values = examples_of(found)
    for name, parameter in found.parameters.items():
        try:
            parameter.read(parameter.example)
        except QuantityError as error:
            inner.at_key(("parameter", name), f"{name}: {error}")
    specs = [read_spec(found.filled(at, values), ("assertion", at), inner) for at in range(len(found.raw))]
    inner.raise_if_any()
    right = [spec for spec in specs if spec is not None]
    units = {name: {signal.name: signal.unit for signal in plant.signals} for name, plant in plants.items()}
    missing = {name: set().union(*(lacks(spec, known) for spec in right)) for name, known in units.items()}
    nearest = min(missing, key=lambda name: (len(missing[name]), name))
    if missing[nearest]:
        said = f"no ready plant has all its signals; {nearest} lacks {', '.join(sorted(missing[nearest]))}."
        raise FileMistakesError([Mistake(str(path), 0, said)])
    mistakes = {
        Mistake(str(path), spec.lines.get(key, spec.lines[""]), f"{key}: {what}.")
        for name, known in units.items()
        if not missing[name]
        for spec in right
        for key, what in check_spec(spec, known, DEVICE_PREFIXES)
    }
    if mistakes:
        raise FileMistakesError(sorted(mistakes, key=lambda one: one.line))
