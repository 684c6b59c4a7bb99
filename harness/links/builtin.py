"""`builtin`: the reference controller in Python as a child process; needs no board and no compiler."""

from __future__ import annotations

import sys

from harness.errors import WrongUseError
from harness.links.run import PipeLink
from harness.shipped import shipped

PANELS = ("degC", "degF")


def open_builtin(text: str, panel: str) -> PipeLink:
    """The built-in device; `panel` is the unit of its set points, "" for its own default."""
    if panel and panel not in PANELS:
        raise WrongUseError(f"{text}: the panel is {' or '.join(PANELS)}, not {panel!r}. Write builtin:degF.")
    program = shipped("firmware_stubs") / "python" / "reference.py"
    words = [sys.executable, "-S", str(program), "--nv", "{nv}"]
    return PipeLink(text, [*words, "--panel", panel] if panel else words)
