"""The logbook: begin a run, list the runs, read one."""

from __future__ import annotations

import json
import sqlite3
import uuid
from collections.abc import Sequence
from contextlib import closing
from dataclasses import asdict, fields
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from harness.assertions.verdict import Outcome, Status, Verdict
from harness.errors import LogbookError
from harness.logbook.alive import LifeLock, is_alive, sweep
from harness.logbook.file import (
    DEFAULT_FILE,
    WrongLogbookError,
    open_for_reading,
    open_for_writing,
    sqlite_errors,
)
from harness.logbook.record import LoggedEvent, RunEnd, RunMeta, RunRecord, RunSummary

if TYPE_CHECKING:
    from harness.logbook.writer import RunWriter

Kept = TypeVar("Kept", RunMeta, RunEnd)
_RUN_COLUMNS = "id, started_at, token, status, meta, ended"
_VERDICT_COLUMNS = "title, basis, outcome, margin, margin_unit, decided_ms, exercised, note"


class Logbook:
    """The runs in one file. Many processes may write and read it at once; it must lie on a local disk."""

    def __init__(self, path: str | Path = DEFAULT_FILE) -> None:
        self.path = Path(path)

    def begin(self, meta: RunMeta, names: Sequence[str], units: Sequence[str]) -> RunWriter:
        """List a new run and return its writer.

        Parameters
        ----------
        names, units : sequence of str, length m
            The recorded signals, a column each; a name once only.

        Raises
        ------
        LogbookError
            When the file cannot be made, opened or written.
        """
        from harness.logbook.writer import RunWriter

        if len(set(names)) != len(names) or len(names) != len(units):
            distinct = len(set(names))
            raise ValueError(f"{len(names)} names, {distinct} of them different, and {len(units)} units")
        with sqlite_errors(self.path):
            connection = open_for_writing(self.path)
            try:
                lock, run_id = self._list(connection, meta, names, units)
            except BaseException:
                connection.close()
                raise
        return RunWriter(self.path, connection, lock, run_id, len(names))

    def _list(
        self, connection: sqlite3.Connection, meta: RunMeta, names: Sequence[str], units: Sequence[str]
    ) -> tuple[LifeLock, int]:
        for (token,) in connection.execute("SELECT token FROM runs WHERE status = ?", (Status.RUNNING,)):
            sweep(self.path, token)
        token = uuid.uuid4().hex
        lock = LifeLock(self.path, token)  # before the run is listed: a listed run without a lock is dead
        try:
            connection.execute("BEGIN IMMEDIATE")
            row = (_now(), token, Status.RUNNING, json.dumps(asdict(meta)))
            insert = "INSERT INTO runs (started_at, token, status, meta) VALUES (?, ?, ?, ?)"
            run_id = connection.execute(insert, row).lastrowid
            assert run_id is not None
            signals = [(run_id, number, *pair) for number, pair in enumerate(zip(names, units, strict=True))]
            connection.executemany("INSERT INTO signals VALUES (?, ?, ?, ?)", signals)
            connection.execute("COMMIT")
        except BaseException:
            lock.release()
            raise
        return lock, run_id

    def runs(self, last: int | None = None) -> list[RunSummary]:
        """All runs, or the `last` ones, oldest first.

        Raises
        ------
        LogbookError
            When there is no logbook, or it cannot be read.
        """
        found = self._runs(last)
        # A run that ended between the reading and the look at its lock seems interrupted: look once more.
        return self._runs(last) if any(run.interrupted for run in found) else found

    def _runs(self, last: int | None) -> list[RunSummary]:
        query = f"SELECT {_RUN_COLUMNS} FROM runs ORDER BY id DESC LIMIT ?"
        with sqlite_errors(self.path), closing(open_for_reading(self.path)) as connection:
            rows = connection.execute(query, (-1 if last is None else last,)).fetchall()
            return [self._summary(row) for row in reversed(rows)]

    def read(self, run_id: int) -> RunRecord:
        """One run; its signals are read later, when asked for.

        Raises
        ------
        LogbookError
            When there is no logbook or no such run, or it cannot be read.
        """
        record = self._read(run_id)
        return self._read(run_id) if record.summary.interrupted else record

    def _read(self, run_id: int) -> RunRecord:
        with sqlite_errors(self.path), closing(open_for_reading(self.path)) as connection:
            connection.execute("BEGIN")  # one state of the file for all that follows
            asked = str(run_id)  # compared as a number; as one, SQLite takes no more than 64 bits
            row = connection.execute(f"SELECT {_RUN_COLUMNS} FROM runs WHERE id = ?", (asked,)).fetchone()
            if row is None:
                raise WrongLogbookError(self._no_such_run(connection, run_id))
            ask = f"SELECT {{}} WHERE run = {int(run_id)} ORDER BY {{}}"
            signals = connection.execute(ask.format("name, unit FROM signals", "number")).fetchall()
            events = connection.execute(ask.format("t_ms, source, text FROM events", "t_ms, id"))
            verdicts = connection.execute(ask.format(f"{_VERDICT_COLUMNS} FROM verdicts", "number"))
            return RunRecord(
                path=self.path,
                summary=self._summary(row),
                names=tuple(name for name, _ in signals),
                units=dict(signals),
                events=tuple(LoggedEvent(*event) for event in events),
                verdicts=tuple(_verdict(*verdict) for verdict in verdicts),
            )

    def _no_such_run(self, connection: sqlite3.Connection, run_id: int) -> str:
        (last,) = connection.execute("SELECT max(id) FROM runs").fetchone()
        held = "holds no runs yet" if last is None else f"its last run is {last}"
        return f"{self.path}: there is no run {run_id}; {held}. `unlit runs` lists them."

    def _summary(self, row: tuple[int, str, str, str, str, str | None]) -> RunSummary:
        run_id, started_at, token, status, meta, ended = row
        interrupted = status == Status.RUNNING and not is_alive(self.path, token)
        try:
            end = _from_json(RunEnd, ended) if ended else RunEnd()
            return RunSummary(run_id, started_at, Status(status), interrupted, _from_json(RunMeta, meta), end)
        except (ValueError, TypeError) as error:
            raise LogbookError(f"{self.path}: run {run_id} is damaged: {error}. Run it again.") from error


def _from_json(kind: type[Kept], text: str) -> Kept:
    """What is kept of a run; keys of a later unlit are left alone. ValueError, TypeError where it is none."""
    values = json.loads(text)
    if not isinstance(values, dict):
        raise TypeError("it is no table")
    known = {field.name for field in fields(kind)}
    return kind(**{key: value for key, value in values.items() if key in known})


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _verdict(
    title: str,
    basis: str,
    outcome: str,
    margin: float | None,
    margin_unit: str,
    decided_ms: int | None,
    exercised: int,
    note: str,
) -> Verdict:
    return Verdict(title, basis, Outcome(outcome), margin, margin_unit, decided_ms, exercised, note)
