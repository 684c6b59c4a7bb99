"""Bytes to messages and back; the rules are in PROTOCOL.md. No I/O, no clock.

>>> from harness.line.messages import Go, Side
>>> encode(Go(0))
b'go 0*0BD0\\n'
>>> Decoder(Side.BENCH).feed(b"go 0*0BD0\\ngo")
[Go(t_ms=0)]
"""

from __future__ import annotations

import re
from binascii import crc_hqx

from harness.line.forms import FORMS, VERB_OF, BodyError, read_body, write_body
from harness.line.messages import Event, LineError, Message, Side

LINE_BYTES = 120
EXCERPT_BYTES = 48
_CHECK = re.compile(rb"\*[0-9A-F]{4}\Z")


def crc(body: bytes) -> int:
    """CRC-16/IBM-3740 of a body, 0 to 65535."""
    return crc_hqx(body, 0xFFFF)


def frame(body: bytes) -> bytes:
    """A body with its check and LF. Nothing is looked at: `unlit talk` sends what a person types."""
    return b"%b*%04X\n" % (body, crc_hqx(body, 0xFFFF))


def encode(message: Message) -> bytes:
    """The line of a message, LF included.

    Raises ValueError if a field is outside its range or form, or the line would be over 120 bytes.
    """
    line = frame(write_body(message).encode("utf-8"))
    if _read_line(line[:-1], FORMS[VERB_OF[type(message)]].said_by[0]) != message:
        raise ValueError(f"{message}: has no form on the line, see PROTOCOL.md")
    return line


def _read_line(line: bytes, said_by: Side) -> Event:
    """The event in one line without CR and LF, not empty. The order of the checks is the protocol's."""
    if len(line) > LINE_BYTES:
        return LineError("long", line[:EXCERPT_BYTES])
    if _CHECK.search(line) is None:
        return LineError("form", line[:EXCERPT_BYTES])
    body = line[:-5]
    if int(line[-4:], 16) != crc_hqx(body, 0xFFFF):
        return LineError("crc", line[:EXCERPT_BYTES])
    try:
        return read_body(body.decode("ascii"), said_by)
    except (BodyError, UnicodeDecodeError):
        return LineError("form", line[:EXCERPT_BYTES])


class Decoder:
    """Any bytes in, messages or line errors out, however the bytes are cut.

    `said_by` is the side whose lines are heard; a verb of the other side is a `form` error. At most
    LINE_BYTES + 1 bytes of an unfinished line are kept.
    """

    def __init__(self, said_by: Side) -> None:
        self._said_by = said_by
        self._rest = b""

    @property
    def is_between_lines(self) -> bool:
        """True when no unfinished line is held."""
        return not self._rest

    def feed(self, data: bytes) -> list[Event]:
        """The events that `data` completes, in order."""
        *lines, rest = (self._rest + data.replace(b"\r", b"")).split(b"\n")
        # One byte over the limit is kept: enough to know at the LF that the line was too long.
        self._rest = rest[: LINE_BYTES + 1]
        return [_read_line(line, self._said_by) for line in lines if line]
