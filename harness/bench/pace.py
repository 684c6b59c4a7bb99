"""What a run's pace asks of its link: whether it can play so at all, and whether the line is fast enough."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from harness.bench.budget import Budget, budget
from harness.bench.line_upsets import LINE_KINDS
from harness.errors import FileMistakesError, Mistake
from harness.line import Channel, Identity
from harness.links import Link
from harness.scenario import Scenario

_BUILTIN = "builtin"
_PLAYED_HERE = (_BUILTIN, "atmega")
_LIBRARY, _WALL = "lib:", "wall"


def device_for(scenario: Scenario, device: str) -> str:
    """The link to open for `device`: in wall pace a device that the bench plays keeps its own clock.

    Raises FileMistakesError where the pace does not go with the link or the scenario's disturbances.
    """
    if scenario.pace != "wall":
        return device
    mistakes = [
        Mistake(
            scenario.file,
            one.line,
            f"{one.kind} is counted in lines that each have an answer: play it in lockstep pace.",
        )
        for one in scenario.disturbances
        if one.kind in LINE_KINDS
    ]
    if device.startswith(_LIBRARY):
        what = f"{device} speaks only when spoken to, so it has no pace of its own. Use run: with --wall."
        mistakes.append(Mistake(scenario.file, 0, f"wall pace: {what}"))
    if mistakes:
        raise FileMistakesError(mistakes)
    return in_wall_pace(device)


def in_wall_pace(device: str) -> str:
    """The link with the word that has it keep the wall's time, where the bench itself plays the device."""
    kind, _, rest = device.partition(":")
    told = rest == _WALL or rest.endswith(f",{_WALL}")
    if kind not in _PLAYED_HERE or told or (kind != _BUILTIN and not rest):
        return device
    return f"{device},{_WALL}" if rest else f"{kind}:{_WALL}"


def line_notes(
    scenario: Scenario, link: Link, identity: Identity, inputs: Sequence[Channel]
) -> Iterator[str]:
    """What a person should know of the link before a run: what its baud rate means, and what it forgets.

    Raises FileMistakesError where the exchanges of a run in wall pace do not fit into it.
    """
    if link.forgets and any(one.kind == "power-cut" for one in scenario.disturbances):
        yield (
            f"{link.text} has no EEPROM: at a power cut the firmware forgets what it keeps there. "
            "On an ATmega328P, play this scenario over atmega:."
        )
    if link.baud is None:
        return
    cost = budget(link.baud, identity, inputs)
    if scenario.pace == "wall":
        _refuse_slow(scenario, cost)
        return
    turns = scenario.length_ms / scenario.exchange_every_ms
    yield (
        f"the line takes up to {turns * cost.exchange_ms / 1000:.0f} s of the run: {cost.bytes} bytes an "
        f"exchange at {cost.baud} baud"
    )


def _refuse_slow(scenario: Scenario, cost: Budget) -> None:
    every = scenario.exchange_every_ms
    if cost.exchange_ms <= every:
        return
    what = (
        f"wall pace: an exchange is up to {cost.to_device} bytes to the device and {cost.to_bench} back, "
        f"{cost.exchange_ms:.1f} ms at {cost.baud} baud, and one is due each {every} ms. Give exchange_every "
        f'"{int(cost.exchange_ms) + 1} ms" or more, or set port and firmware to ?baud={cost.baud_for(every)}.'
    )
    raise FileMistakesError([Mistake(scenario.file, 0, what)])
