"""The ways to a device: serial port, child process, shared library, built-in device."""

from harness.links.base import Link
from harness.links.open import open_link

__all__ = ["Link", "open_link"]
