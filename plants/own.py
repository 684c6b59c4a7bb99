"""A plant from a person's own file, found by its path.

The file is a program and is run: take none from people you would not let sit at your computer.
"""

from __future__ import annotations

import re
import sys
import traceback
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import ModuleType

from plants.kernel.plant import Plant

_SAID = ("name", "about", "diagram", "parameters")
_NAME = re.compile(r"[a-z][a-z0-9_]*")
_UNITS = {
    "signal": {
        "degC", "K", "W", "kW", "J", "kg", "L", "L/min", "%", "bool", "count", "permille", "s", "ms",
        "Pa", "kPa",
    },
    "actuator": {"bool", "permille"},
}  # fmt: skip
_FILES: dict[type[Plant], Path] = {}


class OwnPlantError(ValueError):
    """The file gives no plant; the message is for a person."""


def load_plant(path: Path | str) -> type[Plant]:
    """The one plant that a Python file defines; it is run for a second, to see that it works.

    Raises
    ------
    OwnPlantError
        If there is no such file, it cannot be run, or it holds no plant, several, or one that fails.
    """
    file = Path(path)
    if not file.is_file():
        what = "is a folder" if file.is_dir() else "there is no such file"
        raise OwnPlantError(f"{file}: {what}. Name a Python file that defines a plant")
    kind = _only_plant(file, _run(file))
    missing = [name for name in _SAID if not hasattr(kind, name)]
    if missing:
        raise OwnPlantError(
            f"{file}: class {kind.__name__} has no {', '.join(missing)}. Add {missing[0]} = ... to it"
        )
    try:
        _try_out(kind)
    except (Exception, SystemExit) as error:
        raise OwnPlantError(f"{file}: plant {kind.name} fails: {blame(error, file)}") from error
    wrong = _wrong_name(kind)
    if wrong:
        raise OwnPlantError(f"{file}: plant {kind.name}: {wrong}")
    _FILES[kind] = file
    return kind


def is_own(kind: type[Plant]) -> bool:
    """Whether the plant is one of a person's own file."""
    return kind in _FILES


def mishap(kind: type[Plant], error: BaseException) -> str | None:
    """What went wrong, if the plant is one of a person's own file; None for a ready one."""
    file = _FILES.get(kind)
    return f"{file}: {blame(error, file)}" if file else None


def _try_out(kind: type[Plant]) -> None:
    plant = kind()
    plant.command([0] * len(plant.actuators))
    plant.advance(1000)
    plant.sample()
    plant.reader([(probe.name, unit) for probe in plant.probes for unit in probe.units])()


def _wrong_name(kind: type[Plant]) -> str | None:
    """What a scenario could not speak of: a name or a unit; None if all is well."""
    groups = (
        ("parameter", kind.parameters), ("signal", kind.signals), ("probe", kind.probes),
        ("actuator", kind.actuators),
    )  # fmt: skip
    for what, group in groups:
        names = [one.name for one in group]
        for one in group:
            if not _NAME.fullmatch(one.name) or names.count(one.name) > 1:
                return f'{what} "{one.name}": use small letters, digits and _, and each name once'
            unit, known = getattr(one, "unit", ""), _UNITS.get(what)
            if known and unit not in known:
                return f'{what} "{one.name}": unknown unit "{unit}". Use one of {", ".join(sorted(known))}'
    return None


def blame(error: BaseException, file: Path | str) -> str:
    """An exception on one line, with the last line of the file that took part in it."""
    said = " ".join(str(error).split()) or "no message"
    if isinstance(error, SyntaxError) and error.lineno:
        return f"line {error.lineno}: {error.msg}"
    name = str(Path(file).resolve())
    lines = [one.lineno for one in traceback.extract_tb(error.__traceback__) if one.filename == name]
    where = f"line {lines[-1]}: " if lines else ""
    return f"{where}{said if type(error) is ValueError else f'{type(error).__name__}: {said}'}"


def _run(file: Path) -> ModuleType:
    loader = SourceFileLoader(f"own_plant_{file.stem}", str(file.resolve()))
    module = ModuleType(loader.name)
    module.__file__ = loader.path
    sys.modules[loader.name] = module  # dataclasses in the file look it up
    try:
        text = loader.source_to_code(file.read_bytes(), loader.path)
        exec(text, module.__dict__)
    except (Exception, SystemExit) as error:
        del sys.modules[loader.name]
        raise OwnPlantError(f"{file}: cannot be run: {blame(error, file)}") from error
    return module


def _only_plant(file: Path, module: ModuleType) -> type[Plant]:
    """The plant defined in the module; one that another there derives from is not meant."""
    found = [
        thing for thing in vars(module).values()
        if isinstance(thing, type) and issubclass(thing, Plant) and thing.__module__ == module.__name__
    ]  # fmt: skip
    leaves = [one for one in found if not any(other is not one and issubclass(other, one) for other in found)]
    if not leaves:
        raise OwnPlantError(f"{file}: defines no plant. Write a class that derives from plants.Plant")
    if len(leaves) > 1:
        names = ", ".join(one.__name__ for one in leaves)
        raise OwnPlantError(f"{file}: defines several plants: {names}. Keep one a file")
    return leaves[0]
