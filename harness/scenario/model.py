"""What a scenario file says, once it has been found right.

All times are integer milliseconds of bench time, counted from the start of the run.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from harness.assertions.spec import AssertionSpec

PACES = ("lockstep", "wall")
BUILTIN = "builtin"
DEVICES = (BUILTIN, "builtin:chamber", "builtin:kiln")
"""The controllers that come with the bench and that a scenario may be for."""
WALL_SIGNALS = {"bench_late": "ms", "answer_time": "ms"}
"""What the bench records of itself and of the line in wall pace, with units."""


@dataclass(frozen=True)
class PanelValue:
    """What a person sets on the device's panel.

    `value` is true or false, a bare number (`unit` None) or a number in `unit`; the bench converts it to
    the unit of the device's channel, which is not known before the device has said who it is.
    """

    value: bool | float
    unit: str | None
    line: int


@dataclass(frozen=True)
class Wiring:
    """Which plant probe feeds which device input, and which device output drives which actuator.

    Attributes
    ----------
    inputs : device input's name to plant probe's name.
    outputs : device output's name to plant actuator's name.
    unwired : plant actuators that nothing drives, on purpose.
    file : the wiring file; empty when the scenario states the wiring itself.
    line : where it stands; 0 for a wiring file.
    lines : line of each entry, by `inputs.NAME`, `outputs.NAME` and `unwired`.
    """

    inputs: Mapping[str, str]
    outputs: Mapping[str, str]
    unwired: tuple[str, ...] = ()
    file: str = ""
    line: int = 0
    lines: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Disturbance:
    """Something that happens to the plant, a probe, the panel, the line or the device.

    It starts at `at_ms`, or at the first moment that `when` holds (exactly one is given). It ends
    `for_ms` after its start or at `end_ms`; with neither it lasts to the end of the run, or has no
    duration at all (`type`). A fault's sizes grow in `ramp_ms` from its start and fade in `fade_ms` after its
    end.

    Attributes
    ----------
    kind : one of the plant's kinds or of `BENCH_KINDS`.
    place : where in the plant; None where the kind needs none.
    at_ms, when : the start: a time, or the text of an expression.
    for_ms, end_ms : the end: a duration, or a time. Never both.
    sizes : plant kinds only: every size of the kind, the file's or the default, in the size's own unit.
    panel : `set-panel` only: device input's name to its value from the start to the end.
    text : `type` only: the line for the device's console.
    repeat_every_ms, times : it starts `times` times, that far apart; 0 and 1 without repeats.
    line : where it stands in the file.
    """

    kind: str
    place: str | None = None
    at_ms: int | None = None
    when: str | None = None
    for_ms: int | None = None
    end_ms: int | None = None
    sizes: Mapping[str, float] = field(default_factory=dict)
    panel: Mapping[str, PanelValue] = field(default_factory=dict)
    text: str = ""
    repeat_every_ms: int = 0
    times: int = 1
    ramp_ms: int = 0
    fade_ms: int = 0
    line: int = 0


@dataclass(frozen=True)
class Scenario:
    """One scripted run.

    Attributes
    ----------
    file, text : the file's name as it was given, and what it holds.
    title, why, notes : for people.
    plant : name of a ready plant, or path from here of a Python file with one.
    length_ms, exchange_every_ms : how long the run is, how far apart exchanges are.
    start_ms : what the device's clock shows when the run starts; near 2**32 its roll-over is tested.
    seed : of the plant's noise.
    themes : words by which scenarios are grouped.
    expected : `pass`, `fail` or `inconclusive`: what the reference controller is expected to reach.
    wiring : None where every name joins by itself.
    plant_setup : plant parameters that differ from the default, in the parameter's own unit, and choices.
    panel : what is set on the device when the run starts, by the device input's name.
    stop_at_first_break : the run ends soon after an assertion is seen broken.
    pace : `lockstep`, as fast as the device answers, or `wall`, bench time is wall time.
    late_limit_ms : wall pace: the bench may be this late; beyond it the run shows nothing.
    device : the built-in controller that it is for; one for another is not meant.
    """

    file: str
    text: str
    title: str
    why: str
    plant: str
    length_ms: int
    exchange_every_ms: int = 250
    start_ms: int = 0
    seed: int = 1
    themes: tuple[str, ...] = ()
    expected: str = "pass"
    notes: str = ""
    wiring: Wiring | None = None
    plant_setup: Mapping[str, float | str] = field(default_factory=dict)
    panel: Mapping[str, PanelValue] = field(default_factory=dict)
    disturbances: tuple[Disturbance, ...] = ()
    assertions: tuple[AssertionSpec, ...] = ()
    stop_at_first_break: bool = False
    pace: str = "lockstep"
    late_limit_ms: int = 50
    device: str = BUILTIN

    def is_for(self, device: str) -> bool:
        """Whether it is meant for the controller at a link: the one it names, or any that brews."""
        return self.device in (BUILTIN, device)
