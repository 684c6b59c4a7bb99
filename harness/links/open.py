"""From the text a person writes to an open link."""

from __future__ import annotations

import difflib
import os
import re
from collections.abc import Callable
from pathlib import Path

from harness.errors import LinkError, WrongUseError
from harness.links.base import Link

# Each kind is imported when it is used: pyserial and ctypes cost time that most commands need not spend.


def _open_run(text: str, rest: str) -> Link:
    from harness.links.child import split_command
    from harness.links.run import PipeLink

    return PipeLink(text, split_command("run", rest))


def _open_pty(text: str, rest: str) -> Link:
    from harness.links.child import split_command
    from harness.links.pseudo_terminal import TerminalLink

    return TerminalLink(text, split_command("pty", rest))


def _open_lib(text: str, rest: str) -> Link:
    from harness.links.library import LibraryLink

    if not rest:
        raise WrongUseError(f"{text}: no file. Write the library after the colon, as in lib:./firmware.so.")
    return LibraryLink(text, rest)


def _open_builtin(text: str, rest: str) -> Link:
    from harness.links.builtin import open_builtin

    return open_builtin(text, rest)


def _open_avr(text: str, rest: str) -> Link:
    from harness.links.emulator import open_emulator

    return open_emulator(text, "avr", rest)


def _open_arm(text: str, rest: str) -> Link:
    from harness.links.emulator import open_emulator

    return open_emulator(text, "arm", rest)


def _open_atmega(text: str, rest: str) -> Link:
    from harness.links.atmega import open_atmega

    return open_atmega(text, rest)


def _open_serial(text: str) -> Link:
    from harness.links.serial_port import SerialLink

    return SerialLink(text)


KINDS: dict[str, Callable[[str, str], Link]] = {
    "run": _open_run,
    "pty": _open_pty,
    "lib": _open_lib,
    "avr": _open_avr,
    "arm": _open_arm,
    "atmega": _open_atmega,
    "builtin": _open_builtin,
}
FORMS = (
    "builtin, run:COMMAND, pty:COMMAND, lib:FILE.so, avr:FILE.elf, arm:FILE.elf, atmega:FILE.elf, "
    "a serial port like /dev/ttyACM0 or COM3, or a pyserial URL"
)
_PORT = re.compile(r"/.*|COM[0-9]+(\?.*)?|\\\\\.\\.*|[a-z][a-z0-9]*://.*")


def open_link(text: str) -> Link:
    """Open the link a person asked for.

    Raises
    ------
    WrongUseError
        The text is no link; it says which was probably meant.
    LinkError
        The link does not open.
    """
    kind, _, rest = text.partition(":")
    if _of_a_kind(text):
        if os.name != "posix" and kind != "lib":
            raise LinkError(
                f"{text}: a child process as device needs Linux or macOS. Use a serial port, or WSL."
            )
        return KINDS[kind](text, rest)
    if _PORT.fullmatch(text):
        return _open_serial(text)
    raise WrongUseError(
        f"{text or '(nothing)'}: no such kind of link. {_probably_meant(text)}Links are {FORMS}."
    )


def opens_many(text: str) -> bool:
    """Whether each opening of this link gives a device of its own; behind a port or a URL there is one."""
    return _of_a_kind(text)


def _of_a_kind(text: str) -> bool:
    kind, colon, rest = text.partition(":")
    return kind in KINDS and not rest.startswith("//") and bool(colon or kind == "builtin")


def _probably_meant(text: str) -> str:
    kind, colon, rest = text.partition(":")
    near = difflib.get_close_matches(kind.lower(), KINDS, 1, 0.5)
    bare = Path(text)
    guess = ""
    if bare.is_file():
        kinds = {".so": "lib", ".dylib": "lib", ".dll": "lib"}
        guess = f"{kinds.get(bare.suffix) or _machine_kind(bare)}:{text}"
    elif re.fullmatch(r"(tty|cu)[^\s:]+", text):
        guess = f"/dev/{text}"
    elif re.fullmatch(r"com[0-9]+", text):
        guess = text.upper()
    elif near:
        guess = near[0] + (colon + rest if rest or near[0] == "builtin" else ":…")
    return f"Did you mean {guess}? " if guess else ""


def _machine_kind(file: Path) -> str:
    from harness.links.emulator_file import ARM, AVR, machine_of

    return {AVR: "avr", ARM: "arm"}.get(machine_of(file) or 0, "run")
