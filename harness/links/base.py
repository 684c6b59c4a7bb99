"""What every link offers, and nothing of how it does it."""

from __future__ import annotations

from abc import ABC, abstractmethod

# A device that sends more than this while nobody reads it is out of hand.
UNREAD_BYTES = 64 * 1024


class Link(ABC):
    """A way to a device: bytes out, bytes in. All errors are LinkError.

    `text` is the link as the person wrote it, for messages; `baud` the bit rate of a serial line, else None;
    `forgets` whether a power cut clears what the real device would keep; `gathers_s` how much longer than its
    time-out a read may take to have the rest of a line.
    """

    baud: int | None = None
    forgets = False
    gathers_s = 0.0

    def __init__(self, text: str) -> None:
        self.text = text

    @abstractmethod
    def write(self, data: bytes) -> None:
        """Send all of `data`."""

    @abstractmethod
    def read(self, timeout_s: float) -> bytes:
        """What has come, at least one byte; b"" when nothing came in time.

        A link that can only speak when spoken to (`lib:`) does not wait for what cannot come.
        """

    @abstractmethod
    def restart(self) -> None:
        """Cut the device's power and give it back; non-volatile memory stays."""

    @abstractmethod
    def close(self) -> None:
        """Let the device go. May be called more than once."""
