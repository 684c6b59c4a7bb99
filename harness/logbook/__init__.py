"""The store of runs: one SQLite file, written as the run goes, readable meanwhile."""

from harness.logbook.file import DEFAULT_FILE, WrongLogbookError
from harness.logbook.record import LoggedEvent, RunMeta, RunRecord, RunSummary
from harness.logbook.store import Logbook

__all__ = [
    "DEFAULT_FILE",
    "Logbook",
    "LoggedEvent",
    "RunMeta",
    "RunRecord",
    "RunSummary",
    "WrongLogbookError",
]
