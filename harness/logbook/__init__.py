"""The store of runs: one SQLite file, written as the run goes, readable meanwhile."""

from typing import TYPE_CHECKING

from harness.logbook.file import DEFAULT_FILE, WrongLogbookError
from harness.logbook.record import INTERRUPTED, LoggedEvent, RunMeta, RunRecord, RunSummary
from harness.logbook.store import Logbook

if TYPE_CHECKING:
    from harness.logbook.digest import RunDigest

__all__ = [
    "DEFAULT_FILE",
    "INTERRUPTED",
    "Logbook",
    "LoggedEvent",
    "RunDigest",
    "RunMeta",
    "RunRecord",
    "RunSummary",
    "WrongLogbookError",
]


def __getattr__(name: str) -> object:
    """`RunDigest` on demand: it needs numpy, and a list of runs does not."""
    if name == "RunDigest":
        from harness.logbook.digest import RunDigest

        return RunDigest
    raise AttributeError(name)
