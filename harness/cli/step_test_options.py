"""The options of `unlit step-test` as a procedure, a relay test, and what the device is told by hand."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from harness.cli.given import given_ms, given_value, known_name, pairs, wrong

if TYPE_CHECKING:
    from harness.calibration.relay_test.plan import RelayTest
    from harness.calibration.rig import Rig
    from harness.calibration.step_test.procedure import Procedure
    from harness.calibration.step_test.through_device import Hand


def procedure(command: str, rig: Rig, timing: Mapping[str, str]) -> Procedure:
    """The procedure as the options time it."""
    from harness.calibration.step_test.procedure import LONGEST_MS, Procedure

    def ms(option: str, least: float = 0.0, most: float = LONGEST_MS / 1000.0) -> int:
        named = option.replace("_", "-")
        given_value(command, named, timing[option], "s", least=least, most=most)
        return given_ms(command, named, timing[option])

    def share(option: str, least: float) -> float:
        return given_value(command, option, timing[option], "%", least=least, most=100.0) / 100.0

    try:
        return Procedure(
            settle_ms=ms("settle"), full_ms=ms("full"), settle_again_ms=ms("settle_again"),
            duty=share("duty", 1.0), cycle_ms=ms("cycle", 1.0, 600.0), longest_ms=ms("longest", 60.0),
            shortest_small_ms=ms("shortest"), precision=share("precision", 0.1),
            every_ms=ms("every", 0.05, 10.0), limit=rig.limit,
        )  # fmt: skip
    except ValueError as error:
        raise wrong(command, str(error)) from None


def relay(command: str, rig: Rig, procedure: Procedure, found: Mapping[str, Any]) -> RelayTest:
    """The relay test as the options describe it."""
    from harness.calibration.relay_test.plan import RelayTest

    rise = given_value(command, "rise", found["rise"], "K", least=0.01)
    hysteresis = given_value(command, "hysteresis", found["hysteresis"], "K", least=0.0)
    if hysteresis >= rise:
        raise wrong(command, f"--hysteresis {found['hysteresis']} must be below --rise")
    if found["cycles"] < 2:
        raise wrong(command, f"--cycles {found['cycles']}: give 2 or more")
    return RelayTest(procedure.settle_ms, rise, hysteresis, found["cycles"], rig.limit)


def hand(command: str, rig: Rig, panel: list[str] | None, mode: int | None, wiring: Path | None) -> Hand:
    """How the device is told by hand."""
    from harness.calibration.step_test.through_device import ROLES, Hand

    names = {role: role for role in ROLES}
    for role, name in pairs(command, "panel", panel).items():
        known_name(command, "--panel role", role, ROLES)
        if name and not (name.isascii() and name.isidentifier()):
            raise wrong(command, f"--panel {role}={name}: no device has an input of that name")
        if name:
            names[role] = name
        else:
            del names[role]
    if "manual_duty" not in names:
        raise wrong(command, "--panel manual_duty=: without a duty by hand there is no test")
    return Hand(names, rig.mode if mode is None else mode, _wiring(command, wiring))


def _wiring(command: str, path: Path | None) -> Mapping[str, Any] | None:
    if path is None:
        return None
    from harness.scenario.source import parse_toml, read_text

    data, _ = parse_toml(read_text(path), str(path))
    for part, joined in data.items():
        if not isinstance(joined, dict):
            raise wrong(command, f"{path}: {part} is no table. Write [{part}] and below it what joins what")
    return data
