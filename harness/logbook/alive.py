"""Is the process that writes a run still there?

It holds an operating-system lock on a small file beside the logbook for as long as it lives; the system drops
the lock when the process ends, however it ends. A process number alone would lie after a restart.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import BinaryIO

if sys.platform == "win32":
    import msvcrt

    def _try_lock(file: BinaryIO, shared: bool = False) -> bool:
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _try_lock(file: BinaryIO, shared: bool = False) -> bool:
        try:
            fcntl.flock(file, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
        except OSError:
            return False
        return True


def lock_path(logbook: Path, token: str) -> Path:
    """Where the lock of the run with this token lies."""
    return logbook.with_name(f"{logbook.name}-run-{token}")


class LifeLock:
    """Held by the process that writes a run, from before the run is listed until `release`."""

    def __init__(self, logbook: Path, token: str) -> None:
        self._path = lock_path(logbook, token)
        self._file = self._path.open("xb")
        if not _try_lock(self._file):
            self._file.close()
            raise OSError(f"cannot lock {self._path}")

    def release(self) -> None:
        """Let go and take the file away; once is enough, twice does no harm."""
        self._file.close()
        self._path.unlink(missing_ok=True)


def is_alive(logbook: Path, token: str) -> bool:
    """Whether some process holds the lock."""
    try:
        with lock_path(logbook, token).open("rb") as file:
            return not _try_lock(file, shared=True)  # two who ask at once must not see each other
    except FileNotFoundError:
        return False


def sweep(logbook: Path, token: str) -> None:
    """Take away what a killed process has left. Only for a listed token: its lock was taken before that."""
    if not is_alive(logbook, token):
        lock_path(logbook, token).unlink(missing_ok=True)
