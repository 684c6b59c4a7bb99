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
    from harness.calibration.step_test.procedure import Procedure

    def ms(option: str) -> int:
        return given_ms(command, option.replace("_", "-"), timing[option])

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
