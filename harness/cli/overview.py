"""What `unlit --help` prints. Written out here so that it answers before any library is loaded."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterator

from harness.cli.commands import COMMANDS, names

ABOUT = "Rehearse a heat controller against a simulated plant, before anyone lights the burner."
LINKS = (
    "A LINK is `builtin`, a serial port or pyserial URL, `run:COMMAND`, `pty:COMMAND`, `lib:FILE.so`, "
    "`avr:FILE.elf`, `arm:FILE.elf` or `atmega:FILE.elf`. "
    "A SCENARIO is a file, a folder, or the name of a shipped one."
)
EXIT_CODES = (
    "Exit codes: 0 pass, 1 fail, 2 wrong use or file, 3 inconclusive. --debug shows a fault's traceback."
)
WIDEST = 100


def overview() -> str:
    """The commands by group, each with one sentence."""
    width = min(WIDEST, shutil.get_terminal_size((80, 24)).columns)
    return "\n".join(_lines(width))


def _lines(width: int) -> Iterator[str]:
    yield "unlit COMMAND"
    yield ""
    yield from textwrap.wrap(ABOUT, width)
    longest = max(map(len, names()))
    for group, commands in COMMANDS.items():
        yield ""
        yield group
        for name, about in commands.items():
            yield from textwrap.wrap(
                about, width, initial_indent=f"  {name:{longest}}  ", subsequent_indent=" " * (longest + 4)
            )
    for text in (
        "`unlit COMMAND --help` shows the use of one; `unlit --version` the version.",
        LINKS,
        EXIT_CODES,
    ):
        yield ""
        yield from textwrap.wrap(text, width, break_on_hyphens=False)
