"""The two lines of an exchange by the shortest way: `at` out, `ok` in.

Both give exactly what the full codec gives, or give up (None) and leave the case to it. On the machine of
`tests/benchmarks/line_codec.py` each costs about a tenth of the full codec.
"""

from __future__ import annotations

from binascii import crc_hqx
from collections.abc import Sequence

from harness.line.codec import LINE_BYTES
from harness.line.forms import BodyError, read_values
from harness.line.messages import Value

_CACHE_ENTRIES = 4096


class AtWriter:
    """Writes `at` for a fixed list of channel numbers, rising."""

    def __init__(self, numbers: Sequence[int]) -> None:
        self._numbers = tuple(numbers)
        self._form = b"at %d" + b"".join(b" %d=%%d" % number for number in self._numbers)

    def line(self, t_ms: int, values: Sequence[Value]) -> bytes | None:
        """The whole line, LF included; None if it would be over the protocol's length.

        `values` in the order of the numbers; the caller keeps them and the time in the protocol's range.
        """
        try:
            body = self._form % (t_ms, *values)
        except TypeError:  # A None among the values: no reading.
            body = self._with_gaps(t_ms, values)
        if len(body) > LINE_BYTES - 5:
            return None
        return b"%b*%04X\n" % (body, crc_hqx(body, 0xFFFF))

    def _with_gaps(self, t_ms: int, values: Sequence[Value]) -> bytes:
        pairs = zip(self._numbers, values, strict=True)
        words = [b" %d=x" % n if value is None else b" %d=%d" % (n, value) for n, value in pairs]
        return b"at %d" % t_ms + b"".join(words)


class OkReader:
    """Reads `ok` for a fixed list of channel numbers, rising; remembers the value parts it has met."""

    def __init__(self, numbers: Sequence[int]) -> None:
        self._numbers = tuple(numbers)
        self._known: dict[bytes, tuple[Value, ...]] = {}

    def values(self, t_ms: int, data: bytes) -> tuple[Value, ...] | None:
        """The outputs, if `data` is exactly one good line `ok t_ms` with all the channels; else None."""
        head = b"ok %d" % t_ms
        body = data[:-6]
        if data != b"%b*%04X\n" % (body, crc_hqx(body, 0xFFFF)) or not body.startswith(head):
            return None
        if len(data) > LINE_BYTES + 1:
            return None
        tail = body[len(head) :]
        known = self._known.get(tail)
        return known if known is not None else self._learn(tail)

    def _learn(self, tail: bytes) -> tuple[Value, ...] | None:
        """Outputs of a value part not met before, by the full reader."""
        if not tail.isascii() or tail[:1] not in (b"", b" "):
            return None
        try:
            pairs = read_values(tail.decode("ascii").split(" ")[1:])
        except BodyError:
            return None
        if tuple(number for number, _ in pairs) != self._numbers:
            return None
        if len(self._known) >= _CACHE_ENTRIES:
            self._known.clear()
        values = self._known[tail] = tuple(value for _, value in pairs)
        return values
