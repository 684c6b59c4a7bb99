"""`builtin`: a controller in Python as a child process; needs no board and no compiler.

`builtin` alone is the reference controller of the brewing rigs; `builtin:chamber` and `builtin:kiln` are
those of the other plants.
"""

from __future__ import annotations

import sys

from harness.errors import WrongUseError
from harness.links.run import PipeLink
from harness.shipped import shipped

PANELS = ("degC", "degF")
WALL = "wall"
OTHERS = {"chamber": "chamber.py", "kiln": "kiln.py"}
"""Controllers beside the reference, and their programs."""


def open_builtin(text: str, words: str) -> PipeLink:
    """The built-in device; `words` are the unit of its set points and `wall` for a clock of its own.

    The bench adds `wall` for a run in wall pace. Another controller's name stands alone.
    """
    folder = shipped("firmware_stubs") / "python"
    other = words.partition(",")[0]
    if other in OTHERS:
        if words != other:
            what = f"builtin:{other} takes no further words and keeps no clock of its own"
            raise WrongUseError(f"{text}: {what}. Write builtin:{other}, in lockstep pace.")
        return PipeLink(text, [sys.executable, "-S", str(folder / OTHERS[other])])
    panel, comma, pace = words.partition(",")
    if panel == WALL and not comma:
        panel, pace = "", WALL
    if pace not in ("", WALL):
        raise WrongUseError(f"{text}: {pace!r} is no pace. Write builtin:degF,wall or builtin:degF.")
    if panel and panel not in PANELS:
        known = f"a panel ({', '.join(PANELS)}) nor a controller ({', '.join(OTHERS)})"
        raise WrongUseError(f"{text}: {panel!r} is neither {known}. Write builtin:degF.")
    program = folder / "reference.py"
    command = [sys.executable, "-S", str(program), "--nv", "{nv}"]
    command += ["--panel", panel] if panel else []
    return PipeLink(text, [*command, "--wall"] if pace else command)
