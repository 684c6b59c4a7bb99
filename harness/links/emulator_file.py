"""A look at a firmware file before an emulator gets it: the emulators' own messages help nobody."""

from __future__ import annotations

import struct
from pathlib import Path

from harness.errors import LinkError

# Offsets and values: ELF specification, version 1.2, "ELF header", "Sections", "Program header".
_HEADER_BYTES, _SEGMENT_BYTES, _SECTION_BYTES = 52, 32, 40
_EXECUTABLE = 2
_BIG_ENDIAN = 2
_NOTE = 7
_NO_BITS = 8
AVR, ARM = 83, 40
_MACHINES = {3: "x86", ARM: "ARM", 62: "x86-64", AVR: "AVR", 94: "Xtensa", 183: "ARM 64", 243: "RISC-V"}
# EF_AVR_MACH and E_AVR_MACH_AVR5 of binutils, for `e_flags`.
_AVR_SIZE, _AVR5 = 0x7F, 5
# The section .note.gnu.avr.deviceinfo, from the start-up code of avr-libc: a note of type 1 by AVR, eight
# words of sizes and places, then names, the first of them empty and the second the chip's.
_AVR_NOTE, _AVR_NOTE_AT, _AVR_NAME_AT = b"\1\0\0\0AVR\0", 8, 49
_AVR_CHIP = "atmega328"
# Far beyond a build for such a chip with all its debug information.
_MOST_BYTES = 64 << 20


def check_elf(text: str, path: Path, machine: int, chip: str) -> None:
    """See that `path` is a program for the chip, and all of it.

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
        if path.exists() and not path.is_file():
            raise LinkError(f"{text}: {str(path)!r} is a folder or a device. Give the .elf file itself.")
        with path.open("rb") as file:
            content = file.read(_MOST_BYTES)
    except FileNotFoundError as error:
        raise LinkError(
            f"{text}: there is no file {str(path)!r}. Build the firmware, or check the path."
        ) from error
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else error
        raise LinkError(f"{text}: {str(path)!r} cannot be read: {why}.") from error
    what = _what_it_is(content, machine)
    if what:
        raise LinkError(
            f"{text}: {path.name} is {what}. Give the .elf that the build for the {chip} links, "
            "not a .hex or .bin."
        )
    if _ends_at(content) > len(content):
        raise LinkError(f"{text}: {path.name} is cut short. Build it again, or copy it again.")
    if machine == AVR and (other := _other_avr(content)):
        raise LinkError(f"{text}: {path.name} is built for {other}. Build it with -mmcu=atmega328p.")


def machine_of(path: Path) -> int | None:
    """`e_machine` of a file; None if it is no ELF file or cannot be read."""
    try:
        with path.open("rb") as file:
            header = file.read(_HEADER_BYTES)
    except OSError:
        return None
    return _kind_and_machine(header)[1] if _is_elf(header) else None


def _is_elf(content: bytes) -> bool:
    return content.startswith(b"\x7fELF") and len(content) >= _HEADER_BYTES


def _kind_and_machine(content: bytes) -> tuple[int, int]:
    kind, machine = struct.unpack_from(">HH" if content[5] == _BIG_ENDIAN else "<HH", content, 16)
    return kind, machine


def _what_it_is(content: bytes, machine: int) -> str:
    """What the file is in place of a program for `machine`; "" if it is one."""
    if not _is_elf(content):
        return "no ELF file"
    kind, found = _kind_and_machine(content)
    if found != machine:
        return f"built for another machine, {_MACHINES.get(found, f'number {found}')}"
    if kind != _EXECUTABLE:
        return "no linked program but an object file or a library"
    return ""


def _sections(content: bytes) -> list[tuple[int, int, int]]:
    """Type, offset and size of each section, as far as their headers are there."""
    (at,) = struct.unpack_from("<I", content, 32)
    (number,) = struct.unpack_from("<H", content, 48)
    heads = range(at, min(at + number * _SECTION_BYTES, len(content) - _SECTION_BYTES + 1), _SECTION_BYTES)
    return [struct.unpack_from("<4xI8xII16x", content, head) for head in heads]


def _ends_at(content: bytes) -> int:
    """Where the last of what the header tells of ends. [bytes]"""
    programs, sections = struct.unpack_from("<II", content, 28)
    n_programs, n_sections = struct.unpack_from("<2xH2xH", content, 42)
    ends: list[int] = [programs + n_programs * _SEGMENT_BYTES, sections + n_sections * _SECTION_BYTES]
    ends += [offset + size for kind, offset, size in _sections(content) if kind != _NO_BITS]
    heads = range(programs, min(ends[0], len(content) - _SEGMENT_BYTES + 1), _SEGMENT_BYTES)
    for head in heads:
        offset, size = struct.unpack_from("<4xI8xI", content, head)
        ends.append(offset + size)
    return max(ends)


def _other_avr(content: bytes) -> str:
    """Which other AVR the program is for; "" if it may be for an ATmega328P."""
    (flags,) = struct.unpack_from("<I", content, 36)
    if flags & _AVR_SIZE != _AVR5:
        return f"an AVR of another size (avr{flags & _AVR_SIZE})"
    for kind, offset, size in _sections(content):
        note = content[offset : offset + size]
        if kind == _NOTE and note.startswith(_AVR_NOTE, _AVR_NOTE_AT):
            name = note[_AVR_NAME_AT:].partition(b"\0")[0].decode("ascii", "replace")
            return "" if name.startswith(_AVR_CHIP) else f"another AVR, the {name!a}"
    return ""
