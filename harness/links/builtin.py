"""`builtin`: the reference controller in Python as a child process; needs no board and no compiler."""

from __future__ import annotations

import sys

from harness.errors import WrongUseError
from harness.links.run import PipeLink
from harness.shipped import shipped

PANELS = ("degC", "degF")
WALL = "wall"


def open_builtin(text: str, words: str) -> PipeLink:
    """The built-in device; `words` are the unit of its set points and `wall` for a clock of its own.

    The bench adds `wall` for a run in wall pace.
    """
    panel, comma, pace = words.partition(",")
    if panel == WALL and not comma:
        panel, pace = "", WALL
    if pace not in ("", WALL):
        raise WrongUseError(f"{text}: {pace!r} is no pace. Write builtin:degF,wall or builtin:degF.")
    if panel and panel not in PANELS:
        raise WrongUseError(f"{text}: the panel is {' or '.join(PANELS)}, not {panel!r}. Write builtin:degF.")
    program = shipped("firmware_stubs") / "python" / "reference.py"
    command = [sys.executable, "-S", str(program), "--nv", "{nv}"]
    command += ["--panel", panel] if panel else []
    return PipeLink(text, [*command, "--wall"] if pace else command)
