"""What the calibration commands share: options to values, progress, files."""

from __future__ import annotations

import difflib
import json
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

from harness.cli.given import given_value
from harness.errors import UnlitError, WrongUseError
from harness.quantity import QuantityError, parse_ms

if TYPE_CHECKING:
    from rich.console import RenderableType

    from harness.calibration.device_test import Hand
    from harness.calibration.procedure import Procedure
    from harness.calibration.record import HeatRecord
    from harness.calibration.relay_plan import RelayTest
    from harness.calibration.rig import Rig
    from plants import Plant

NOT_TOLD = 3


def wrong(command: str, what: str) -> WrongUseError:
    """The error of a wrong option."""
    return WrongUseError(f"unlit {command}: {what if what.endswith(('.', '?')) else what + '.'}")


def plant_kind(name: str, command: str) -> type[Plant]:
    """The ready plant of that name, or the one in a Python file."""
    from harness.cli.given import known_name
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


def milliseconds(command: str, option: str, text: str) -> int:
    """The time of an option."""
    try:
        return parse_ms(text)
    except QuantityError as error:
        raise wrong(command, f"--{option} {text}: {error}") from None


def procedure(command: str, rig: Rig, timing: Mapping[str, str]) -> Procedure:
    """The procedure as the options time it."""
    from harness.calibration.procedure import Procedure

    def ms(option: str) -> int:
        return milliseconds(command, option.replace("_", "-"), timing[option])

    try:
        return Procedure(
            settle_ms=ms("settle"), full_ms=ms("full"), settle_again_ms=ms("settle_again"),
            duty=given_value(command, "duty", timing["duty"], "1"), cycle_ms=ms("cycle"),
            longest_ms=ms("longest"), shortest_small_ms=ms("shortest"),
            precision=given_value(command, "precision", timing["precision"], "1"), every_ms=ms("every"),
            limit=rig.limit,
        )  # fmt: skip
    except ValueError as error:
        raise wrong(command, str(error)) from None


def relay(command: str, rig: Rig, procedure: Procedure, found: Mapping[str, Any]) -> RelayTest:
    """The relay test as the options describe it."""
    from harness.calibration.relay_plan import RelayTest

    rise = given_value(command, "rise", found["rise"], "K", least=0.01)
    hysteresis = given_value(command, "hysteresis", found["hysteresis"], "K", least=0.0)
    if hysteresis >= rise:
        raise wrong(command, f"--hysteresis {found['hysteresis']} must be below --rise")
    if found["cycles"] < 2:
        raise wrong(command, f"--cycles {found['cycles']}: give 2 or more")
    return RelayTest(procedure.settle_ms, rise, hysteresis, found["cycles"], rig.limit)


def pairs(command: str, option: str, given: Sequence[str] | None) -> dict[str, str]:
    """`NAME=VALUE` words as a table."""
    made = {}
    for text in given or ():
        name, sign, value = text.partition("=")
        if not sign:
            raise wrong(command, f"--{option} {text}: write it as NAME=VALUE")
        made[name.strip()] = value.strip()
    return made


def setup(command: str, kind: type[Plant], given: Mapping[str, str]) -> dict[str, float | str]:
    """A plant's set-up from the words of options."""
    from harness.scenario.values import read_in_unit

    parameters = {parameter.name: parameter for parameter in kind.parameters}
    choices = {choice.name: choice.options for choice in kind.choices}
    made: dict[str, float | str] = {}
    for name, text in given.items():
        if name in choices and text in choices[name]:
            made[name] = text
        elif name in choices:
            raise wrong(command, f"--setup {name}={text}: it is one of {', '.join(choices[name])}")
        elif name not in parameters:
            near = difflib.get_close_matches(name, [*parameters, *choices], n=1)
            hint = f"Did you mean {near[0]}?" if near else f"`unlit plants {kind.name}` lists them"
            raise wrong(command, f"--setup {name}: {kind.name} has no such parameter. {hint}")
        else:
            parameter = parameters[name]
            try:
                value = _bare(text) if parameter.unit in ("count", "1", "") else text
                made[name] = read_in_unit(value, parameter.unit, parameter.low, parameter.high)
            except QuantityError as error:
                raise wrong(command, f"--setup {name}={text}: {error}") from None
    return made


def _bare(text: str) -> object:
    try:
        return float(text)
    except ValueError:
        return text


def setup_lines(kind: type[Plant], given: Mapping[str, str]) -> list[str]:
    """The same as lines of a scenario's `[plant_setup]`; checked first."""
    setup("step-test", kind, given)
    bare = {parameter.name for parameter in kind.parameters if parameter.unit in ("count", "1", "")}
    return [f"{name} = {text if name in bare else json.dumps(text)}" for name, text in given.items()]


def hand(command: str, rig: Rig, panel: list[str] | None, mode: int | None, wiring: Path | None) -> Hand:
    """How the device is told by hand."""
    from harness.calibration.device_test import ROLES, Hand

    names = {role: role for role in ROLES}
    for role, name in pairs(command, "panel", panel).items():
        if role not in names:
            near = difflib.get_close_matches(role, ROLES, n=1)
            hint = f"Did you mean {near[0]}?" if near else f"There are: {', '.join(ROLES)}"
            raise wrong(command, f"--panel {role}: there is no such role. {hint}")
        if name:
            names[role] = name
        else:
            del names[role]
    if "manual_duty" not in names:
        raise wrong(command, "--panel manual_duty=: without a duty by hand there is no test")
    return Hand(names, rig.mode if mode is None else mode, _wiring(wiring))


def _wiring(path: Path | None) -> Mapping[str, Any] | None:
    if path is None:
        return None
    from harness.scenario.source import parse_toml, read_text

    data, _ = parse_toml(read_text(path), str(path))
    return data


class Watch:
    """Progress on standard error, and the wall time that passed; used in a `with`."""

    def __init__(self, title: str, every_ms: int) -> None:
        from harness.report.console import console
        from harness.report.progress import RunProgress

        self.progress = RunProgress(console(stderr=True), title, every_ms)
        self.wall_s = 0.0

    def __enter__(self) -> Watch:
        self._begun = time.perf_counter()
        self.progress.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.progress.__exit__(kind, error, trace)
        self.wall_s = time.perf_counter() - self._begun


def show(block: Callable[[bool], Iterable[RenderableType]]) -> None:
    """Print a block; without braille where the output cannot carry it."""
    from harness.report.console import console

    out = console()
    for line in block(not (out.encoding or "").lower().startswith("utf")):
        out.print(line)


def writable(command: str, paths: Mapping[str, Path | None]) -> None:
    """Refuse a file that cannot be written before anything is played."""
    for option, path in paths.items():
        if path is None:
            continue
        try:
            with path.open("a", encoding="utf-8"):
                pass
        except OSError as error:
            raise wrong(command, f"--{option} {path}: cannot be written: {error.strerror}") from None


def write_files(
    json_path: Path | None, csv_path: Path | None, record: HeatRecord, data: Callable[[], dict[str, Any]]
) -> None:
    """Write the files that were asked for."""
    from harness.calibration.table import write_table

    if csv_path is not None:
        write_table(csv_path, record)
    if json_path is not None:
        write_text(json_path, json.dumps(data(), indent=1, allow_nan=False) + "\n")


def write_text(path: Path, text: str) -> None:
    """Write a file that was asked for, whole or not at all."""
    from harness.cli.whole_file import cannot_write, whole_file

    try:
        with whole_file(path) as part:
            part.write_text(text, encoding="utf-8")
    except OSError as error:
        raise UnlitError(cannot_write(path, error)) from error
