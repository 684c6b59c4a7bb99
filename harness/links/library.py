"""`lib:FILE.so`: the firmware as a shared library in this process.

The library offers (version 1 of this interface):

    int  unlit_lib_version(void);           1
    void unlit_lib_power(int fresh);        power-up; fresh other than 0 clears the non-volatile memory too
    int  unlit_lib_talk(const uint8_t *in, int n, uint8_t *out, int room);
                                            takes n bytes, gives the number of bytes written to out, below 0
                                            on failure; if it fills the room it is called again with n = 0

Each link loads a copy of its own, so that each device starts afresh and several can live side by side. A
crash of the library is a crash of the bench: try the firmware by `run:` first.
"""

from __future__ import annotations

import _ctypes
import ctypes
import shutil
import tempfile
from contextlib import suppress
from pathlib import Path

from harness.errors import LinkError
from harness.links.base import UNREAD_BYTES, Link

VERSION = 1
ROOM_BYTES = 4096
_SYMBOLS = ("unlit_lib_version", "unlit_lib_power", "unlit_lib_talk")


class LibraryLink(Link):
    """A device in this process. It only speaks when spoken to, so `read` never waits."""

    def __init__(self, text: str, path: str) -> None:
        super().__init__(text)
        self._unread = b""
        self._out = ctypes.create_string_buffer(ROOM_BYTES)
        self._view = memoryview(self._out).cast("B")
        self._library: ctypes.CDLL | None = self._load(Path(path))
        try:
            self._bind(self._library)
        except LinkError:
            self.close()
            raise

    def _load(self, path: Path) -> ctypes.CDLL:
        if path.is_dir():
            raise LinkError(f"{self.text}: {str(path)!r} is a folder. Name the library in it.")
        if not path.is_file():
            raise LinkError(
                f"{self.text}: there is no file {str(path)!r}. Build the library, or check the path."
            )
        with tempfile.TemporaryDirectory(prefix="unlit-", ignore_cleanup_errors=True) as folder:
            try:
                copy = shutil.copy(path, folder)
                return ctypes.CDLL(copy)
            except OSError as error:
                raise LinkError(f"{self.text}: {_why_not_loaded(error, path)}") from error

    def _bind(self, library: ctypes.CDLL) -> None:
        for symbol in _SYMBOLS:
            if not hasattr(library, symbol):
                raise LinkError(
                    f"{self.text}: the library has no function {symbol}. "
                    "Link it with the kit's port_lib.c, and without hiding its symbols."
                )
        version = library.unlit_lib_version()
        if version != VERSION:
            raise LinkError(
                f"{self.text}: the library has version {version} of the library interface, this bench "
                f"{VERSION}. Build it with this installation's kit."
            )
        library.unlit_lib_power.restype = None
        self._talk = library.unlit_lib_talk
        self._talk.argtypes = (ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p, ctypes.c_int)
        self._address = ctypes.addressof(self._out)
        library.unlit_lib_power(1)

    def write(self, data: bytes) -> None:
        """As `Link.write`; the library answers before this returns."""
        if self._library is None:
            raise LinkError(f"{self.text}: the link is closed.")
        count = self._talk(data, len(data), self._address, ROOM_BYTES)
        if 0 <= count < ROOM_BYTES:
            self._unread += self._view[:count]
        else:
            self._take_more(count)

    def _take_more(self, count: int) -> None:
        while count == ROOM_BYTES:
            self._unread += self._view[:count]
            if len(self._unread) > UNREAD_BYTES:
                raise LinkError(
                    f"{self.text}: the device floods the line: {len(self._unread)} bytes came at one call. "
                    "Look for a print in the firmware's loop."
                )
            count = self._talk(b"", 0, self._address, ROOM_BYTES)
        if not 0 <= count <= ROOM_BYTES:
            raise LinkError(
                f"{self.text}: unlit_lib_talk gave {count}, not 0 to {ROOM_BYTES}. Mend the library's talk."
            )
        self._unread += self._view[:count]

    def read(self, timeout_s: float) -> bytes:
        """As `Link.read`, without waiting."""
        data, self._unread = self._unread, b""
        return data

    def restart(self) -> None:
        """Power off and on; non-volatile memory stays."""
        if self._library is None:
            raise LinkError(f"{self.text}: the link is closed.")
        self._unread = b""
        self._library.unlit_lib_power(0)

    def close(self) -> None:
        """Unload the library."""
        library, self._library = self._library, None
        if library is not None:
            self._unread = b""
            with suppress(OSError, AttributeError):  # AttributeError: a system without dlclose.
                _ctypes.dlclose(library._handle)


def _why_not_loaded(error: OSError, path: Path) -> str:
    text = str(error)
    if "executable" in text:  # glibc: "cannot dynamically load (position-independent) executable"
        program = path if path.is_absolute() else f"./{path}"
        return f"{path.name} is a program. Write run:{program}, or link it as a library, with -shared."
    if "ELF" in text or "architecture" in text or "file too short" in text:
        return f"{path.name} is no library for this machine. Build it for this computer, not for the board."
    return f"the library does not load: {text}. Link it with all it needs."
