"""Which build a link leads to: the files it names, each with its SHA-256."""

from __future__ import annotations

import hashlib
import shlex
from contextlib import suppress
from pathlib import Path

from harness.links.atmega import WALL
from harness.shipped import shipped

_FILES = ("lib", "avr", "arm", "atmega")
_COMMANDS = ("run", "pty")


def firmware_files(text: str) -> dict[str, str]:
    """File, as the link names it, to its SHA-256 in hexadecimal.

    Of a command every word counts that is a file from here, so that of `python3 board.py` the program is
    taken and the interpreter, which is found elsewhere, is not. Empty for a serial port, whose board keeps
    its build to itself, and for files that cannot be read.
    """
    kind, _, rest = text.partition(":")
    if kind == "builtin":
        folder = shipped("firmware_stubs") / "python"
        return _digests({f"firmware_stubs/python/{file.name}": file for file in sorted(folder.glob("*.py"))})
    if kind in _FILES:
        name = rest.removesuffix(WALL) if kind == "atmega" else rest
        return _digests({name: Path(name)})
    if kind in _COMMANDS:
        with suppress(ValueError):  # a command with an open quote: opening the link says so
            return _digests({word: Path(word) for word in shlex.split(rest)})
    return {}


def _digests(files: dict[str, Path]) -> dict[str, str]:
    found = {}
    for name, path in files.items():
        with suppress(OSError, ValueError):
            if path.is_file():
                found[name] = hashlib.sha256(path.read_bytes()).hexdigest()
    return found
