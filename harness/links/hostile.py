"""A wrapper for any link that treats its bytes badly, by counting and never by chance.

A fault strikes bytes or whole lines on their way to the device or to the bench: the one at `first`, counted
from 0 from the moment the fault begins, and with `every` each that many further on. Several may be on at
once; they can be switched while the link is in use.

Nothing sleeps here. In lockstep pace each line that reaches the device has one answer. While a fault is on,
the wrapper counts what the device still owes: a read ends when that has come, and one that nothing can answer
ends at once, as a time-out would. What the bench then does is the same on every link, however its bytes are
cut into pieces. Real waiting is left to a device that owes an answer and does not give it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import Enum

from harness.errors import LinkError
from harness.links.base import UNREAD_BYTES, Link

# Verbs that end an answer; `me`, `in` and `out` belong to the list that `ready` ends.
_ANSWERS = (b"ok", b"got", b"no", b"ready")
# Flipped in a byte of a line this gives no line end; one wrong bit is always found by the check.
_BIT = 0x10
# The byte struck in a line moves on with each; 7 has no divisor in common with most lengths of a line.
_STRIDE = 7


class Way(Enum):
    """Which way the bytes go."""

    TO_DEVICE = "to-device"
    TO_BENCH = "to-bench"


BYTE_FAULTS: dict[str, Callable[[bytes], bytes]] = {
    "lost": lambda byte: b"",
    "flipped": lambda byte: bytes([byte[0] ^ _BIT]),
    "repeated": lambda byte: byte * 2,
    "split": lambda byte: b"\n" + byte,
    "joined": lambda byte: b"\x00" + byte,
    "late": lambda byte: byte,
    "unplugged": lambda byte: byte,
}
"""What can become of a byte: gone, one bit wrong, doubled, a line end or a NUL put before it. Or it and what
follows stay behind until the bench has asked again; or the cable is pulled as it comes."""

LINE_FAULTS = ("lost", "flipped", "repeated", "late", "reset", "unplugged")
"""What can become of a line: gone, a byte of it damaged, come twice, come after the bench has asked again.
Or the device resets by itself: just before it hears the line, or as it says it, which is then lost. Or the
cable is pulled in place of it."""


@dataclass(frozen=True)
class Fault:
    """One way to treat the line badly.

    Attributes
    ----------
    what : of `BYTE_FAULTS` or, with `lines`, of `LINE_FAULTS`; a `late` line is for `Way.TO_BENCH`.
    way : the direction it strikes.
    first : the first byte or line that is struck, from 0.
    every : 0 for once; else it strikes again that many further on, 1 each one from then on.
    lines : whether it counts and strikes lines; else bytes.
    """

    what: str
    way: Way
    first: int = 0
    every: int = 0
    lines: bool = False

    def __post_init__(self) -> None:
        known = LINE_FAULTS if self.lines else tuple(BYTE_FAULTS)
        if self.what not in known or (
            self.what == "late" and self.lines and self.way is not Way.TO_BENCH
        ):
            raise ValueError(f"what = {self.what!r} {self.way.value}: there are {', '.join(known)}")
        if self.first < 0 or self.every < 0:
            raise ValueError(f"first = {self.first}, every = {self.every}: must be 0 or more")

    def strikes(self, number: int) -> bool:
        """Whether byte or line `number` is struck."""
        past = number - self.first
        return past == 0 or (past > 0 and self.every > 0 and past % self.every == 0)


class _Bytes:
    """A fault of bytes at work."""

    def __init__(self, fault: Fault) -> None:
        self._fault, self._change = fault, BYTE_FAULTS[fault.what]
        self._count = 0
        self._held: bytes | None = None
        self.struck = 0
        self.has_cut = False

    def feed(self, data: bytes) -> bytes:
        start, self._count = self._count, self._count + len(data)
        if self._held is not None:
            self._held += data
            return b""
        places = [i for i in range(len(data)) if self._fault.strikes(start + i)]
        if places and self._fault.what in ("late", "unplugged"):
            self.struck += 1
            self.has_cut = self._fault.what == "unplugged"
            data, self._held = data[: places[0]], data[places[0] :]
            return data
        self.struck += len(places)
        for place in reversed(places):
            data = data[:place] + self._change(data[place : place + 1]) + data[place + 1 :]
        return data

    def release(self) -> bytes:
        """What came late, once it is too late."""
        held, self._held = self._held, None
        return held or b""


class _Lines:
    """A fault of lines at work; a line that nothing but its end is in does not count."""

    def __init__(self, fault: Fault, on_lost: Callable[[bytes], object], reset: Callable[[], None]) -> None:
        self._fault, self._on_lost, self._reset = fault, on_lost, reset
        self._count = 0
        self._rest = b""
        self._held = b""
        self.struck = 0
        self.has_cut = False

    def feed(self, data: bytes) -> bytes:
        *lines, rest = (self._rest + data).split(b"\n")
        # What is no line is not kept for ever; the reader bounds what it takes.
        endless, self._rest = (rest, b"") if len(rest) > UNREAD_BYTES else (b"", rest)
        return b"".join(self._line(line + b"\n") for line in lines) + endless

    def _line(self, line: bytes) -> bytes:
        if line == b"\n":
            return line
        number, self._count = self._count, self._count + 1
        if self.has_cut:
            return b""
        if not self._fault.strikes(number):
            return line
        self.struck += 1
        match self._fault.what:
            case "repeated":
                return line * 2
            case "flipped":
                place = self.struck * _STRIDE % (len(line) - 1)
                return line[:place] + bytes([line[place] ^ _BIT]) + line[place + 1 :]
            case "late":
                self._held += line
                return b""
            case "unplugged":
                self.has_cut = True
                return b""
            case "reset":
                self._reset()
                if self._fault.way is Way.TO_DEVICE:
                    return line
        self._on_lost(line)
        return b""

    def release(self) -> bytes:
        """What came late, once it is too late."""
        held, self._held = self._held, b""
        return held


_Work = _Bytes | _Lines


class HostileLink(Link):
    """A link through which faults act. Without one it passes everything on as it is.

    Attributes
    ----------
    on_lost : called with each whole line that is lost on its way to the bench.
    """

    def __init__(self, link: Link) -> None:
        super().__init__(link.text)
        self.baud, self.forgets = link.baud, link.forgets
        self.inner = link
        self.on_lost: Callable[[bytes], object] = lambda line: None
        self._works: dict[int, tuple[Fault, _Work]] = {}
        self._tokens = 0
        self._forget()

    def _forget(self) -> None:
        self._pending = b""
        self._owed = 0
        self._to_device_rest = self._to_bench_rest = b""

    def begin(self, fault: Fault) -> int:
        """Switch a fault on, between a question and the next; the token ends it."""
        if not self._works:
            self._forget()
        self._tokens += 1
        lost = self._lost if fault.way is Way.TO_BENCH else lambda line: None
        work = _Lines(fault, lost, self._reset) if fault.lines else _Bytes(fault)
        self._works[self._tokens] = fault, work
        return self._tokens

    def _lost(self, line: bytes) -> None:
        self.on_lost(line)

    def _reset(self) -> None:
        self.inner.restart()
        self._owed = 0

    def end(self, token: int) -> int:
        """Switch a fault off; how many bytes or lines it has struck."""
        _, work = self._works.pop(token)
        return work.struck

    def _going(self, way: Way) -> Iterable[_Work]:
        return [work for fault, work in self._works.values() if fault.way is way]

    def write(self, data: bytes) -> None:
        """As `Link.write`; what was held back as late comes before the answer to this."""
        if not self._works:
            self.inner.write(data)
            return
        self._notice_cut()
        for work in self._going(Way.TO_BENCH):
            self._pending += work.release()
        for work in self._going(Way.TO_DEVICE):
            data = work.release() + work.feed(data)
        *lines, self._to_device_rest = (self._to_device_rest + data).split(b"\n")
        self._owed += sum(1 for line in lines if line.strip(b"\r"))
        if data:
            self.inner.write(data)
        if not self._pending:
            self._notice_cut()  # Else what came before it is read first.

    def _notice_cut(self) -> None:
        """Raise LinkError once the cable has been pulled; as from a real port, till the link is closed."""
        if any(work.has_cut for _, work in self._works.values()):
            raise LinkError(f"{self.text}: the port is gone (unplugged by a fault of the line).")

    def read(self, timeout_s: float) -> bytes:
        """As `Link.read`; does not wait for what cannot come."""
        if not self._works and not self._pending:
            return self.inner.read(timeout_s)
        if not self._pending:
            self._notice_cut()
        deadline = time.monotonic() + timeout_s
        while self._owed > 0 and len(self._pending) < UNREAD_BYTES:
            data = self.inner.read(max(0.0, deadline - time.monotonic()))
            if not data:
                break
            self._hear(data)
        data, self._pending = self._pending, b""
        return data

    def _hear(self, data: bytes) -> None:
        *lines, self._to_bench_rest = (self._to_bench_rest + data).split(b"\n")
        verbs = (line.partition(b" ")[0].partition(b"*")[0] for line in lines)
        self._owed -= sum(1 for verb in verbs if verb in _ANSWERS)
        for work in self._going(Way.TO_BENCH):
            data = work.feed(data)
        self._pending += data

    def restart(self) -> None:
        """As `Link.restart`; what was on its way is gone, the faults stay."""
        self.inner.restart()
        self._forget()
        for _, work in self._works.values():
            work.release()

    def close(self) -> None:
        """As `Link.close`."""
        self.inner.close()
