"""Serial ports and pyserial URLs.

pyserial opens and sets up the port; bytes then pass by poll, os.read and os.write on its descriptor where
there is one (its own readline takes five times as long). `?baud=57600` after the port sets the speed, else
115200.
"""

from __future__ import annotations

import errno
import os
import re
import select
import time
from contextlib import suppress
from typing import NoReturn

import serial
from serial.tools import list_ports

from harness.errors import LinkError, WrongUseError
from harness.links.base import Link
from harness.links.descriptor import Descriptors

BAUD = 115_200
WRITE_TIMEOUT_S = 5.0
# Long enough for the reset circuit of common boards (100 nF on DTR; common practice, no source).
POWER_CUT_S = 0.1
# pyserial's wrapper that prints the traffic would be bypassed by its descriptor.
_WRAPPED = ("spy://",)
_NO_POWER_LINE = ("socket://",)


def split_port(text: str) -> tuple[str, int]:
    """The port and the baud rate of a link's text. Raises WrongUseError."""
    port, mark, query = text.partition("?")
    options = query.split("&") if mark else []
    others = [option for option in options if not option.startswith("baud=")]
    if others and "://" not in port:
        raise WrongUseError(f"{text}: unknown option {others[0]!r}. The one option is ?baud=115200.")
    baud = BAUD
    for option in options:
        if option.startswith("baud="):
            digits = option[5:]
            if not re.fullmatch("[1-9][0-9]{1,7}", digits):
                raise WrongUseError(f"{text}: the baud rate is a number like 115200, not {digits!r}.")
            baud = int(digits)
    return (f"{port}?{'&'.join(others)}" if others else port), baud


class SerialLink(Link):
    """A port that pyserial can open."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        port, baud = split_port(text)
        self._open = False
        try:
            self._port = serial.serial_for_url(port, do_not_open=True)
            self._port.baudrate, self._port.timeout = baud, 0
            self._port.write_timeout = WRITE_TIMEOUT_S
            if os.name == "posix":
                self._port.exclusive = True
            self._port.open()
        except (OSError, ValueError) as error:
            raise LinkError(f"{text}: {_why_not_open(error, port)}") from error
        self._open = True
        # Behind a URL there need not be a line of this rate.
        self.baud = None if "://" in port else baud
        self._ends = self._descriptors()

    def _descriptors(self) -> Descriptors | None:
        if not hasattr(select, "poll") or self.text.startswith(_WRAPPED):
            return None
        try:
            descriptor = self._port.fileno()
        except (OSError, AttributeError):  # io.UnsupportedOperation is an OSError.
            return None
        return Descriptors(self.text, descriptor, descriptor, self._gone)

    def _gone(self, why: str) -> NoReturn:
        raise LinkError(f"{self.text}: the port is gone ({why}). Was the board unplugged or does it reset?")

    def _check_open(self) -> None:
        if not self._open:
            raise LinkError(f"{self.text}: the link is closed.")

    def write(self, data: bytes) -> None:
        """As `Link.write`."""
        self._check_open()
        if self._ends is not None:
            self._ends.write(data)
            return
        try:
            self._port.write(data)
        except serial.SerialTimeoutException as error:
            message = (
                f"{self.text}: the device takes no input; {len(data)} bytes waited {WRITE_TIMEOUT_S:g} s."
            )
            raise LinkError(f"{message} Is the port the right one, and the firmware running?") from error
        except OSError as error:
            self._gone(str(error))

    def read(self, timeout_s: float) -> bytes:
        """As `Link.read`."""
        self._check_open()
        if self._ends is not None:
            return self._ends.read(timeout_s)
        try:
            self._port.timeout = timeout_s
            first = self._port.read(1)
            self._port.timeout = 0
            return bytes(first + self._port.read(4096)) if first else b""
        except OSError as error:
            self._gone(str(error))

    def restart(self) -> None:
        """Toggle DTR (and RTS), which resets most boards; the port stays open."""
        self._check_open()
        if self.text.startswith(_NO_POWER_LINE):
            raise LinkError(
                f"{self.text}: a socket has no DTR line to reset the board by. Use a serial port."
            )
        try:
            self._port.dtr = self._port.rts = False
            time.sleep(POWER_CUT_S)
            self._port.dtr = self._port.rts = True
            self._port.reset_input_buffer()
        except OSError as error:
            raise LinkError(
                f"{self.text}: the port has no DTR line to reset the board by ({error})."
            ) from error

    def close(self) -> None:
        """Close the port."""
        if self._open:
            self._open = False
            with suppress(OSError):
                self._port.close()


def _why_not_open(error: OSError | ValueError, port: str) -> str:
    number = error.errno if isinstance(error, OSError) else None
    text = str(error)
    if number == errno.ENOENT or "FileNotFoundError" in text:
        return f"there is no such port. {_ports_there_are()}"
    if number in (errno.EACCES, errno.EPERM) or "PermissionError" in text:
        return "no permission, or another program has it. Join the port's group (often dialout)."
    if number in (errno.EBUSY, errno.EAGAIN) or "exclusively lock" in text:
        return "another program uses the port. End it (a serial monitor?) and try again."
    if number in (errno.ENOTTY, errno.EINVAL) or "Could not configure port" in text:
        return "it is no serial port, or does not take this baud rate."
    return f"{port} does not open: {text}."


def _ports_there_are() -> str:
    names = sorted(port.device for port in list_ports.comports())[:8]
    return f"There are: {', '.join(names)}." if names else "No serial port is there: plug the board in."
