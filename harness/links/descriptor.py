"""Bytes over file descriptors with poll: the part that pipes, pseudo-terminals and serial ports share."""

from __future__ import annotations

import os
import select
import time
from collections.abc import Callable
from typing import NoReturn

from harness.errors import LinkError
from harness.links.base import UNREAD_BYTES

CHUNK_BYTES = 65536
WRITE_TIMEOUT_S = 5.0
# What a hung-up pseudo-terminal (EIO) or a vanished port gives in place of an end of file.
_IN = select.POLLIN | select.POLLHUP | select.POLLERR if hasattr(select, "POLLIN") else 0


class Descriptors:
    """A non-blocking pair of descriptors, one to write and one to read (they may be the same).

    `gone` is called when the other end is no more and must raise; `aside` watches one more descriptor, whose
    callback reads it empty (a child's stderr).
    """

    def __init__(self, text: str, out: int, into: int, gone: Callable[[str], NoReturn]) -> None:
        self._text, self._out, self._in, self._gone = text, out, into, gone
        self._unread = b""
        self._aside: Callable[[], bool] | None = None
        self._aside_fd = -1
        self._poll = select.poll()
        self._poll.register(into, select.POLLIN)
        for descriptor in {out, into}:
            os.set_blocking(descriptor, False)

    def watch_aside(self, descriptor: int, read_it: Callable[[], bool]) -> None:
        """Call `read_it` when `descriptor` has something; it returns False at its end."""
        os.set_blocking(descriptor, False)
        self._aside, self._aside_fd = read_it, descriptor
        self._poll.register(descriptor, select.POLLIN)

    def read(self, timeout_s: float) -> bytes:
        """As `Link.read`."""
        if self._unread:
            data, self._unread = self._unread, b""
            return data
        ready = self._poll.poll(timeout_s * 1000)
        if len(ready) == 1 and ready[0][0] == self._in:
            return self._receive()
        return self._read_beside(ready, time.monotonic() + timeout_s) if ready else b""

    def _read_beside(self, ready: list[tuple[int, int]], deadline: float) -> bytes:
        while True:
            waiting = {descriptor for descriptor, _ in ready}
            if self._aside_fd in waiting:
                self._look_aside()
            if self._in in waiting:
                return self._receive()
            left_s = deadline - time.monotonic()
            ready = self._poll.poll(max(0.0, left_s) * 1000)
            # A child that never stops complaining must not hold the reader beyond its time.
            if not ready or (left_s <= 0.0 and self._in not in dict(ready)):
                return b""

    def _look_aside(self) -> None:
        if self._aside is not None and not self._aside():
            self._poll.unregister(self._aside_fd)
            self._aside, self._aside_fd = None, -1

    def _receive(self) -> bytes:
        try:
            data = os.read(self._in, CHUNK_BYTES)
        except BlockingIOError:
            return b""
        except OSError as error:
            self._gone(error.strerror or str(error))
        if not data:
            self._gone("closed")
        return data

    def write(self, data: bytes) -> None:
        """As `Link.write`; what comes meanwhile is kept, so that a flooding device cannot lock both ends."""
        try:
            sent = os.write(self._out, data)
        except BlockingIOError:
            sent = 0
        except OSError as error:
            self._gone(error.strerror or str(error))
        if sent < len(data):
            self._write_rest(data[sent:])

    def _write_rest(self, data: bytes) -> None:
        deadline = time.monotonic() + WRITE_TIMEOUT_S
        poll = select.poll()
        poll.register(self._in, select.POLLIN)
        poll.register(self._out, select.POLLOUT | (select.POLLIN if self._in == self._out else 0))
        while data:
            ready = dict(poll.poll(max(0.0, deadline - time.monotonic()) * 1000))
            if not ready:
                raise LinkError(
                    f"{self._text}: the device takes no input; {len(data)} bytes waited {WRITE_TIMEOUT_S:g} "
                    "s. Does the firmware read its line in every turn of its loop?"
                )
            if ready.get(self._in, 0) & _IN:
                self._keep_unread()
            if ready.get(self._out, 0) & ~select.POLLIN:
                data = data[self._write_some(data) :]

    def _write_some(self, data: bytes) -> int:
        try:
            return os.write(self._out, data)
        except BlockingIOError:
            return 0
        except OSError as error:
            self._gone(error.strerror or str(error))

    def _keep_unread(self) -> None:
        self._unread += self._receive()
        if len(self._unread) > UNREAD_BYTES:
            raise LinkError(
                f"{self._text}: the device floods the line: {len(self._unread)} bytes came unasked. "
                "Look for a print in the firmware's loop."
            )
