"""The two consoles every command prints on.

They know no mark-up, no emoji names and no highlighting: what is printed stands there as it is. Colour
appears only on a terminal and never with NO_COLOR set; nothing is told by colour alone, nothing is boxed.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterable, Iterator
from typing import IO

from rich.console import Console, RenderableType

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
    "worse": "bold red",
    "better": "green",
    "cannot be told": "yellow",
}


def console(file: IO[str] | None = None, *, stderr: bool = False, width: int | None = None) -> Console:
    """A console on `file`, else on standard output or standard error; 80 columns where no terminal tells."""
    target = file or (sys.stderr if stderr else sys.stdout)
    return Console(file=target, width=width, markup=False, emoji=False, highlight=False, soft_wrap=False)


def as_text(what: Iterable[RenderableType], width: int) -> Iterator[str]:
    """What a console of that width would print, as lines without colour or blanks at their end."""
    written = io.StringIO()
    plain = Console(file=written, width=width, markup=False, emoji=False, highlight=False, color_system=None)
    for one in what:
        plain.print(one)
    yield from (line.rstrip() for line in written.getvalue().splitlines())


def style(word: str) -> str:
    """The colour of a status or an outcome; none for other words."""
    return STYLES.get(word, "")
