"""The store of runs: one SQLite file, written as the run goes, readable meanwhile.

Names are imported when they are used: a command that only needs the file's default place starts at once.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from harness.logbook.digest import RunDigest
    from harness.logbook.file import DEFAULT_FILE, WrongLogbookError
    from harness.logbook.record import INTERRUPTED, LoggedEvent, RunMeta, RunRecord, RunSummary
    from harness.logbook.store import Logbook

_HOMES = {
    "digest": ("RunDigest",),
    "file": ("DEFAULT_FILE", "WrongLogbookError"),
    "record": ("INTERRUPTED", "LoggedEvent", "RunMeta", "RunRecord", "RunSummary"),
    "store": ("Logbook",),
}

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
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(f"{__name__}.{home}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
