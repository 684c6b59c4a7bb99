"""Opening the logbook's file: its tables, its version, and whether it is ours at all."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

from harness.errors import LogbookError, WrongUseError

DEFAULT_FILE = Path(".unlit") / "logbook.sqlite"

#: Marks the file as ours in SQLite's header, next to the version of the tables.
APPLICATION_ID = 0x554E4C54
VERSION, OLDEST = 2, 1
"""2: a run keeps the SHA-256 of its build and what was judged, which an unlit of version 1 fails on.

To be raised where an older unlit would fail or be misled; a run written to an older logbook makes it a newer
one. From 2 on, a key of a run's JSON that an unlit does not know is left alone.
"""

#: How long a second writer waits for the first; a commit takes a millisecond. [s]
PATIENCE_S = 30.0

TABLES = """
CREATE TABLE runs (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    started_at TEXT NOT NULL,   -- UTC, ISO 8601
    token TEXT NOT NULL,        -- names the lock that the writing process holds
    status TEXT NOT NULL,
    meta TEXT NOT NULL,         -- JSON, known when the run starts
    ended TEXT                  -- JSON, known when it has ended
);
CREATE TABLE signals (
    run INTEGER NOT NULL REFERENCES runs (id), number INTEGER NOT NULL,
    name TEXT NOT NULL, unit TEXT NOT NULL,
    PRIMARY KEY (run, number)
) WITHOUT ROWID;
CREATE TABLE chunks (
    id INTEGER PRIMARY KEY, run INTEGER NOT NULL REFERENCES runs (id), row_count INTEGER NOT NULL,
    times BLOB NOT NULL, samples BLOB NOT NULL
);
CREATE INDEX chunks_of_run ON chunks (run);
CREATE TABLE events (
    id INTEGER PRIMARY KEY, run INTEGER NOT NULL REFERENCES runs (id),
    t_ms INTEGER NOT NULL, source TEXT NOT NULL, text TEXT NOT NULL
);
CREATE INDEX events_of_run ON events (run);
CREATE TABLE verdicts (
    run INTEGER NOT NULL REFERENCES runs (id), number INTEGER NOT NULL,
    title TEXT NOT NULL, basis TEXT NOT NULL, outcome TEXT NOT NULL, margin REAL, margin_unit TEXT NOT NULL,
    decided_ms INTEGER, exercised INTEGER NOT NULL, note TEXT NOT NULL,
    PRIMARY KEY (run, number)
) WITHOUT ROWID;
"""


#: One statement, so that all three are of the same moment.
_WHAT_IT_IS = """
SELECT (SELECT count(*) FROM sqlite_master), application_id, user_version
FROM pragma_application_id, pragma_user_version
"""


class WrongLogbookError(LogbookError, WrongUseError):
    """The named logbook, or run in it, is not there or not ours: the person's to mend, exit code 2."""


@contextmanager
def sqlite_errors(path: Path) -> Iterator[None]:
    """Turn what SQLite and the file system raise inside into a LogbookError that names the file."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorcode == sqlite3.SQLITE_NOTADB:
            raise WrongLogbookError(f"{path}: is not a logbook. Name another file with --logbook.") from error
        raise LogbookError(f"{path}: {error}. {_mend(error)}") from error
    except (sqlite3.Error, OSError) as error:
        raise LogbookError(f"{path}: {error}. Name another file with --logbook.") from error


def _mend(error: sqlite3.DatabaseError) -> str:
    mends = {
        sqlite3.SQLITE_FULL: "Make room on the disk or name another file with --logbook.",
        sqlite3.SQLITE_BUSY: "End the program that holds the file, or name another with --logbook.",
        sqlite3.SQLITE_CORRUPT: "The file is damaged: move it away, a new one is made.",
    }
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    return mends.get(code, "See that the file can be written, or name another with --logbook.")


def connect(path: Path, mode: str, *, immutable: bool = False) -> sqlite3.Connection:
    """A bare connection in SQLite's open mode `mode` (`ro`, `rw`, `rwc`)."""
    uri = f"file:{quote(str(path.absolute()))}?mode={mode}" + ("&immutable=1" if immutable else "")
    return sqlite3.connect(uri, uri=True, timeout=PATIENCE_S, isolation_level=None, check_same_thread=False)


def open_for_writing(path: Path) -> sqlite3.Connection:
    """The logbook at `path`, made if it is not there; every commit is on the disk when it returns."""
    path.parent.mkdir(parents=True, exist_ok=True)
    connection = connect(path, "rwc")
    try:
        version = _version(connection, path)
        if version == 0:
            _make_tables(connection, path)
        elif version < VERSION:
            connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("PRAGMA synchronous = FULL")
        return connection
    except BaseException:
        connection.close()
        raise


def open_for_reading(path: Path) -> sqlite3.Connection:
    """The logbook at `path`, never changed; a run may be written to it meanwhile."""
    if not path.exists():
        raise WrongLogbookError(
            f"{path}: there is no logbook here. `unlit run` makes one; --logbook names another."
        )
    connection = _connect_to_read(path)
    try:
        if _version(connection, path) == 0:
            raise WrongLogbookError(f"{path}: is empty, it holds no runs. `unlit run` writes one.")
        return connection
    except BaseException:
        connection.close()
        raise


def _connect_to_read(path: Path) -> sqlite3.Connection:
    """Also where nothing can be written beside it, such as on a medium that is write-protected.

    SQLite needs a file of its own there while others may write; where it cannot have one, nobody writes.
    """
    connection = connect(path, "ro")
    try:
        connection.execute(_WHAT_IT_IS)
        return connection
    except sqlite3.OperationalError as error:
        connection.close()
        if error.sqlite_errorcode & 0xFF not in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY):
            raise
    waiting = path.with_name(f"{path.name}-wal")
    if waiting.exists() and waiting.stat().st_size:
        raise LogbookError(
            f"{path}: some of it is still in {waiting.name}, and nothing can be written here. Copy both "
            "to a folder that can be written and name the copy with --logbook."
        )
    return connect(path, "ro", immutable=True)


def _version(connection: sqlite3.Connection, path: Path) -> int:
    """Version of the tables, 0 for a file that is still empty; refuses files that are not ours."""
    tables, application, version = connection.execute(_WHAT_IT_IS).fetchone()
    if not tables and not version:
        return 0
    if application != APPLICATION_ID:
        raise WrongLogbookError(
            f"{path}: is an SQLite file of another program. Name another file with --logbook."
        )
    if not OLDEST <= version <= VERSION:
        raise WrongLogbookError(
            f"{path}: is a logbook of version {version}, this unlit knows up to version {VERSION}. "
            "Use the unlit that wrote it, or name another file with --logbook."
        )
    return int(version)


def _make_tables(connection: sqlite3.Connection, path: Path) -> None:
    """Make the tables, unless another process is first.

    SQLite does not wait when two switch a new file to WAL at once: one is refused, and tries again here.
    """
    give_up = time.monotonic() + PATIENCE_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")  # readers do not stop the writer
            connection.execute("BEGIN IMMEDIATE")
            if _version(connection, path) == 0:
                for statement in TABLES.split(";"):
                    connection.execute(statement)
                connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                connection.execute(f"PRAGMA user_version = {VERSION}")
            connection.execute("COMMIT")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > give_up:
                raise
            time.sleep(0.01)
        finally:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
