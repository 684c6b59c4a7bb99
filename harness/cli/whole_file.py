"""Writing a file as a whole or not at all."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from harness.errors import WrongUseError


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Give a path to write to; at the end what is there takes the place of `path`, on disk.

    Where something goes wrong inside, `path` stays as it was. Folders on the way are made. A device or a pipe
    is given as it is. OSError where it cannot be written.
    """
    if special(path):  # asked by this name: what /dev/stdout leads to may have none
        yield path
        return
    real = Path(os.path.realpath(path))
    part = _beside(real)
    try:
        yield part
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        if real.exists():
            part.chmod(stat.S_IMODE(real.stat().st_mode))
        part.replace(real)
    finally:
        part.unlink(missing_ok=True)


def try_whole_file(path: Path) -> None:
    """Raise OSError where `whole_file` could not write; what is at `path` stays as it is."""
    if not special(path):
        part = _beside(Path(os.path.realpath(path)))
        part.touch()
        part.unlink()


def _beside(real: Path) -> Path:
    """Where a file grows until it takes its place; folders on the way are made."""
    real.parent.mkdir(parents=True, exist_ok=True)
    return real.with_name(f".{real.name}.{os.getpid()}")


def spare(logbook: Path, files: Iterable[Path], command: str) -> None:
    """WrongUseError where one of the `files` to be written is the logbook, which must stay."""
    for file in files:
        if os.path.realpath(file) == os.path.realpath(logbook):
            raise WrongUseError(f"{command}: {file}: what the logbook holds is needed. Name another file.")


def special(path: Path) -> bool:
    """Whether there is something at `path` that is no ordinary file; IsADirectoryError for a folder."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return False
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(21, "it is a folder")
    return not stat.S_ISREG(mode)


def cannot_write(shown: object, error: OSError) -> str:
    """What a person is told, with the mend. A reader that has gone is no fault of a file: raised as it is."""
    if isinstance(error, BrokenPipeError):
        raise error
    mend = "Make room on the disk." if error.errno == 28 else "Name a file that can be written."
    return f"{shown}: cannot be written: {error.strerror or error}. {mend}"
