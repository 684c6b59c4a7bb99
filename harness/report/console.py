"""The two consoles every command prints on.

They know no mark-up, no emoji names and no highlighting: what is printed stands there as it is. Colour
appears only on a terminal and never with NO_COLOR set; nothing is told by colour alone, nothing is boxed.
"""

from __future__ import annotations

import sys
from typing import IO

from rich.console import Console

STYLES = {
    "pass": "green",
    "met": "green",
    "fail": "bold red",
    "broken": "bold red",
    "inconclusive": "yellow",
    "interrupted": "yellow",
    "running": "cyan",
    "not exercised": "yellow",
    "could not be judged": "yellow",
}


def console(file: IO[str] | None = None, *, stderr: bool = False, width: int | None = None) -> Console:
    """A console on `file`, else on standard output or standard error; 80 columns where no terminal tells."""
    target = file or (sys.stderr if stderr else sys.stdout)
    return Console(file=target, width=width, markup=False, emoji=False, highlight=False, soft_wrap=False)


def style(word: str) -> str:
    """The colour of a status or an outcome; none for other words."""
    return STYLES.get(word, "")
