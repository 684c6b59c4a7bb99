"""A requirement set: assertions with parameters, in a file of its own named `NAME.set.toml`.

A scenario includes it with its own numbers (`require.py`). `{name}` in the texts of an assertion stands for a
parameter's value.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from harness.assertions.spec import TEXT_KEYS
from harness.quantity import QuantityError, parse_quantity
from harness.scenario.findings import Findings
from harness.scenario.forms import shown
from harness.scenario.names import quoted, unknown
from harness.scenario.source import parse_toml, read_text
from harness.scenario.tables import SetParameterTable, SetTable, read_table
from harness.shipped import shipped

SUFFIX = ".set.toml"
FOLDER = "requirements"

_PLACE = re.compile(r"\{([^{}]*)\}")
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_.]*")

Value = str | int


@dataclass(frozen=True)
class SetParameter:
    """What a scenario may set: a quantity, a whole number, or a condition or signal.

    `example` is the default, or what a value looks like where the scenario must give one (`required`).
    """

    name: str
    example: Value
    required: bool
    about: str

    def read(self, value: object) -> Value:
        """A scenario's value; QuantityError, with the mend, where it is of another sort than the example."""
        if isinstance(self.example, int):
            if isinstance(value, bool) or not isinstance(value, int) or value < 0:
                raise QuantityError(f"{shown(value)} is not a whole number. Write for example {self.example}")
            return value
        if not isinstance(value, str):
            raise QuantityError(f"{shown(value)} is not text. Write for example {quoted(self.example)}")
        if _is_quantity(self.example):
            parse_quantity(value).to(parse_quantity(self.example).unit)
        elif not value.strip() or _is_quantity(value):
            mend = f"Write for example {quoted(self.example)}"
            raise QuantityError(f"{quoted(value)} is no condition or signal. {mend}")
        return value.strip()


def _is_number(value: Value) -> bool:
    return isinstance(value, int) or _is_quantity(value)


def _is_quantity(text: str) -> bool:
    try:
        parse_quantity(text)
    except QuantityError:
        return False
    return True


@dataclass(frozen=True)
class RequirementSet:
    """A set as its file states it. `raw` are its `[[assertion]]` tables, `parts` the part of each."""

    file: str
    title: str
    parameters: Mapping[str, SetParameter]
    raw: tuple[Mapping[str, Any], ...]
    findings: Findings

    @property
    def parts(self) -> list[str]:
        """The names of its parts, in the file's order."""
        return [str(one.get("part", "")) for one in self.raw]

    def filled(self, at: int, values: Mapping[str, Value]) -> dict[str, Any]:
        """One `[[assertion]]` with the values in place, ready to be read as a scenario's."""
        table = {key: value for key, value in self.raw[at].items() if key != "part"}
        used: list[str] = []
        filled: dict[str, Any] = {key: self._fill(key, value, values, used) for key, value in table.items()}
        own = [said for name in dict.fromkeys(used) if (said := self._own_number(name, values[name]))]
        if own and isinstance(filled.get("basis"), str):
            filled["basis"] = "; ".join([filled["basis"], *own])
        return filled

    def _own_number(self, name: str, value: Value) -> str:
        """What the basis must add where a number is not the one that it gives a ground for."""
        parameter = self.parameters[name]
        if not _is_number(value) or parameter.required or value == parameter.example:
            return ""
        return f"{value} is the scenario's own, the set has {parameter.example}"

    def _fill(self, key: str, value: object, values: Mapping[str, Value], used: list[str]) -> object:
        if not isinstance(value, str):
            return value

        def put(match: re.Match[str]) -> str:
            name = match[1]
            if name not in values:
                return match[0]
            used.append(name)
            text = str(values[name])
            plain = key not in TEXT_KEYS or _NAME.fullmatch(text) or _is_number(values[name])
            return text if plain else f"({text})"

        return _PLACE.sub(put, value)


def set_path(name: str, beside: Path) -> tuple[Path, str]:
    """Where a set is, and how messages name it: a shipped one by its name, an own one by its path."""
    if name.endswith(SUFFIX):
        return beside / name, str(beside / name)
    return shipped("scenarios") / FOLDER / f"{name}{SUFFIX}", f"{FOLDER}/{name}{SUFFIX}"


def shipped_sets() -> list[str]:
    """The names of the ready sets."""
    folder = shipped("scenarios") / FOLDER
    return sorted(path.name.removesuffix(SUFFIX) for path in folder.glob(f"*{SUFFIX}"))


def read_set(path: Path, shown_as: str) -> RequirementSet:
    """The set in a file, its tables and parameters checked; FileMistakesError with all its mistakes."""
    data, places = parse_toml(read_text(path), shown_as)
    findings = Findings(shown_as, places)
    head = read_table(SetTable, data, (), findings)
    parameters = dict(_parameters(data.get("parameter", {}), findings))
    raw = data.get("assertion", [])
    if not isinstance(raw, list) or not raw or not all(isinstance(one, Mapping) for one in raw):
        findings.at_key((), "states no [[assertion]], so it requires nothing. Add one")
        raw = []
    found = RequirementSet(shown_as, head.title if head else "", parameters, tuple(raw), findings)
    _check_parts(found)
    _check_places(found)
    findings.raise_if_any()
    return found


def _parameters(raw: object, findings: Findings) -> Iterator[tuple[str, SetParameter]]:
    if not isinstance(raw, Mapping):
        findings.at_value(("parameter",), f"parameter: {shown(raw)} is no table. Write [parameter.NAME]")
        return
    for name, one in raw.items():
        path = ("parameter", name)
        if not isinstance(one, Mapping):
            findings.at_value(path, f"{name}: {shown(one)} is no table. Write [parameter.{name}]")
            continue
        table = read_table(SetParameterTable, one, path, findings)
        if table is None:
            continue
        given = [value for value in (table.default, table.example) if value is not None]
        if len(given) != 1:
            what = f'{name} has a "default" or, where the scenario must say it, an "example". Give one'
            findings.at_key(path, what)
            continue
        if table.default is not None and _is_number(table.default) and not table.basis.strip():
            findings.at_key(path, f'{name} has a number without its "basis". State where it comes from')
        yield name, SetParameter(name, given[0], table.default is None, table.about)


def _check_parts(found: RequirementSet) -> None:
    seen: set[str] = set()
    for i, part in enumerate(found.parts):
        if not part.strip():
            what = 'missing key "part": a word by which a scenario picks it'
            found.findings.at_key(("assertion", i), what)
        elif part in seen:
            what = f"part: {quoted(part)} stands twice. Give another"
            found.findings.at_value(("assertion", i, "part"), what)
        seen.add(part)


def _check_places(found: RequirementSet) -> None:
    """Each `{name}` is a parameter, and each parameter is used."""
    used: set[str] = set()
    for i, one in enumerate(found.raw):
        for key, value in one.items():
            for name in _PLACE.findall(value) if isinstance(value, str) else ():
                used.add(name)
                if name not in found.parameters:
                    said = unknown("parameter", name, found.parameters)
                    found.findings.at_value(("assertion", i, key), f"{key}: {said}")
    for name in found.parameters:
        if name not in used:
            found.findings.at_key(("parameter", name), f"parameter {quoted(name)} is not used. Take it out")


def examples_of(found: RequirementSet) -> dict[str, Value]:
    """The value of each parameter where a scenario says nothing."""
    return {name: parameter.example for name, parameter in found.parameters.items()}
