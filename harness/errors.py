"""What can go wrong, split by whose fault it is.

Every exception's text is one message for a person: where, what, how to mend it. The commands print it and
leave with `exit_code`; a traceback is a defect.
"""

from __future__ import annotations

from dataclasses import dataclass


class UnlitError(Exception):
    """Base of all errors that a person is shown."""

    exit_code = 3


class WrongUseError(UnlitError):
    """The person's file, option or name is wrong: nothing was run."""

    exit_code = 2


@dataclass(frozen=True)
class Mistake:
    """One fault in a file: `line` counts from 1, 0 where no line is known."""

    file: str
    line: int
    what: str

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else self.file
        return f"{where}: {self.what}"


class FileMistakesError(WrongUseError):
    """All faults of one or more files, reported at once."""

    def __init__(self, mistakes: list[Mistake]) -> None:
        self.mistakes = tuple(mistakes)
        super().__init__("\n".join(str(mistake) for mistake in mistakes))


class LinkError(UnlitError):
    """The way to the device failed: it does not open, is gone, or does not answer."""


class DeviceError(UnlitError):
    """The device answered, but not as the protocol says."""


class LogbookError(UnlitError):
    """The logbook cannot be opened, read or written (a full disk, a foreign file)."""
