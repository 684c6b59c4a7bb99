"""A look at a firmware file before an emulator gets it: the emulators' own messages help nobody."""

from __future__ import annotations

import struct
from pathlib import Path

from harness.errors import LinkError

# Offsets and values: ELF specification, version 1.2, "ELF header".
_HEADER_BYTES = 52
_EXECUTABLE = 2
_BIG_ENDIAN = 2
AVR, ARM = 83, 40
_MACHINES = {3: "x86", ARM: "ARM", 62: "x86-64", AVR: "AVR", 94: "Xtensa", 183: "ARM 64", 243: "RISC-V"}


def check_elf(text: str, path: Path, machine: int, chip: str) -> None:
    """See that `path` is a program for the chip.

    Parameters
    ----------
    text : the link as written, for messages.
    machine : the chip's `e_machine`.
    chip : the chip's name, for messages.

    Raises
    ------
    LinkError
        There is no such file, it cannot be read, or it is something else.
    """
    try:
        with path.open("rb") as file:
            header = file.read(_HEADER_BYTES)
    except FileNotFoundError as error:
        raise LinkError(
            f"{text}: there is no file {str(path)!r}. Build the firmware, or check the path."
        ) from error
    except OSError as error:
        raise LinkError(f"{text}: {str(path)!r} cannot be read: {error.strerror}.") from error
    what = _what_it_is(header, machine)
    if what:
        raise LinkError(
            f"{text}: {path.name} is {what}. Give the .elf that the build for the {chip} links, "
            "not a .hex or .bin."
        )


def _what_it_is(header: bytes, machine: int) -> str:
    """What the file is in place of a program for `machine`; "" if it is one."""
    if not header.startswith(b"\x7fELF") or len(header) < _HEADER_BYTES:
        return "no ELF file"
    kind, found = struct.unpack_from(">HH" if header[5] == _BIG_ENDIAN else "<HH", header, 16)
    if found != machine:
        return f"built for another machine, {_MACHINES.get(found, f'number {found}')}"
    if kind != _EXECUTABLE:
        return "no linked program but an object file or a library"
    return ""
