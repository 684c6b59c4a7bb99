"""The plant that a person names with the options of a command: its kind, its rig, its set-up."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from harness.cli.given import given_value, known_name, pairs, wrong
from harness.quantity import QuantityError

if TYPE_CHECKING:
    from harness.calibration.rig import Rig
    from plants import Plant
    from plants.kernel.describe import Parameter

UNITLESS = ("count", "1", "")
"""Units of a parameter that is written as a bare number."""


def plant_kind(name: str, command: str) -> type[Plant]:
    """The ready plant of that name, or the one in a Python file."""
    from plants import ready_plants
    from plants.own import OwnPlantError, load_plant

    if name.endswith(".py"):
        try:
            return load_plant(name)
        except OwnPlantError as error:
            raise wrong(command, str(error)) from None
    ready = ready_plants()
    return ready[known_name(command, "plant", name, ready)]


def rig(
    command: str, kind: type[Plant], name: str, *, heat: str | None, probe: str | None,
    always: list[str] | None, with_heat: list[str] | None, seen: str | None, limit: str | None,
) -> Rig:  # fmt: skip
    """The rig as the options name it."""
    from dataclasses import replace

    from harness.calibration.rig import rig_for

    try:
        found = rig_for(
            name, kind, heat=heat, probe=probe, seen=seen,
            always=None if always is None else tuple(always),
            with_heat=None if with_heat is None else tuple(with_heat),
        )  # fmt: skip
    except ValueError as error:
        raise wrong(command, str(error)) from None
    return found if limit is None else replace(found, limit=given_value(command, "limit", limit, "degC"))


def setup_words(command: str, given: Sequence[str] | None) -> dict[str, str]:
    """The words of `--setup` by parameter: `NAME=VALUE`, or a file with the `[plant_setup]` of a fit."""
    made: dict[str, str] = {}
    for text in given or ():
        if text.endswith(".toml") and "=" not in text:
            made |= _in_file(command, text)
        else:
            made |= pairs(command, "setup", [text])
    return made


def _in_file(command: str, file: str) -> dict[str, str]:
    from harness.scenario.source import parse_toml, read_text

    data, _ = parse_toml(read_text(Path(file)), file)
    table = data.get("plant_setup")
    if not isinstance(table, dict):
        raise wrong(command, f"--setup {file}: has no [plant_setup]. `unlit fit --out` writes one")
    return {name: str(value) for name, value in table.items()}


def setup(command: str, kind: type[Plant], given: Mapping[str, str]) -> dict[str, float | str]:
    """A plant's set-up from the words of options."""
    parameters = {parameter.name: parameter for parameter in kind.parameters}
    choices = {choice.name: choice.options for choice in kind.choices}
    made: dict[str, float | str] = {}
    for name, text in given.items():
        if name in choices and text in choices[name]:
            made[name] = text
        elif name in choices:
            raise wrong(command, f"--setup {name}={text}: it is one of {', '.join(choices[name])}")
        else:
            listed = f"`unlit plants {kind.name}` lists them."
            known_name(command, f"parameter of {kind.name}", name, [*parameters, *choices], listed)
            made[name] = _in_unit(command, parameters[name], text)
    return made


def _in_unit(command: str, parameter: Parameter, text: str) -> float:
    from harness.scenario.values import read_in_unit

    try:
        value = _bare(text) if parameter.unit in UNITLESS else text
        return read_in_unit(value, parameter.unit, parameter.low, parameter.high)
    except QuantityError as error:
        raise wrong(command, f"--setup {parameter.name}={text}: {error}") from None


def _bare(text: str) -> object:
    try:
        return float(text)
    except ValueError:
        return text


def setup_lines(command: str, kind: type[Plant], given: Mapping[str, str]) -> list[str]:
    """The same as lines of a scenario's `[plant_setup]`; checked first."""
    setup(command, kind, given)
    bare = {parameter.name for parameter in kind.parameters if parameter.unit in UNITLESS}
    return [f"{name} = {text if name in bare else json.dumps(text)}" for name, text in given.items()]
