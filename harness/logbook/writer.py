"""Writing a run while it goes: a thread of its own compresses and commits.

The bench hands over rows and goes on. The queue is bounded, so a slow disk slows the bench instead of filling
the memory. What is committed is on the disk; a killed process loses at most what was queued. Once something
fails, the thread throws the rest away so that nobody waits for it, and each later call raises what happened.
"""

from __future__ import annotations

import json
import queue
import sqlite3
import threading
from dataclasses import asdict, astuple
from pathlib import Path
from types import TracebackType
from typing import Any

import numpy as np

from harness.errors import LogbookError
from harness.logbook.alive import LifeLock
from harness.logbook.chunks import Times, Values, pack_times, pack_values
from harness.logbook.file import sqlite_errors
from harness.logbook.record import EventLike, ResultLike, RunEnd

#: Jobs that may wait, and that may share a commit.
QUEUE_LENGTH = 16

_Job = tuple[str, tuple[Any, ...]]

_CHUNK = "INSERT INTO chunks (run, row_count, times, samples) VALUES (?, ?, ?, ?)"
_EVENT = "INSERT INTO events (run, t_ms, source, text) VALUES (?, ?, ?, ?)"
_VERDICT = (  # the columns as the fields of Verdict
    "INSERT INTO verdicts "
    "(run, number, title, basis, outcome, margin, margin_unit, decided_ms, exercised, note) "
    "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)
_END = "UPDATE runs SET status = ?, ended = ? WHERE id = ?"


class RunWriter:
    """One run being written. Made by `Logbook.begin`; for one thread.

    Leaving it without `finish` (also by `with`) keeps what was handed over, and the run shows as interrupted.

    Every method raises LogbookError if something could not be written.
    """

    def __init__(
        self, path: Path, connection: sqlite3.Connection, lock: LifeLock, run_id: int, width: int
    ) -> None:
        self.run_id = run_id
        self._path = path
        self._connection = connection
        self._lock = lock
        self._width = width
        self._failure: LogbookError | None = None
        self._queue: queue.Queue[_Job | None] = queue.Queue(QUEUE_LENGTH)
        self._thread: threading.Thread | None = threading.Thread(
            target=self._work, name=f"logbook run {run_id}", daemon=True
        )
        self._thread.start()

    def chunk(self, times: Times, values: Values) -> None:
        """Take rows: `times` (n,) in ms, `values` (n, m). They are copied: the arrays may be used again."""
        if values.shape != (len(times), self._width):
            raise ValueError(f"values have shape {values.shape}, wanted ({len(times)}, {self._width})")
        if len(times):
            rows = np.array(times, dtype=np.int64), np.array(values, dtype=np.float64, order="F")
            self._hand_over((_CHUNK, rows))

    def event(self, event: EventLike) -> None:
        """Take something that happened."""
        self._hand_over((_EVENT, (self.run_id, int(event.t_ms), event.source, event.text)))

    def finish(self, result: ResultLike) -> None:
        """Record how the run ended and wait until all of it is on the disk."""
        end = RunEnd(
            reasons=tuple(result.reasons),
            notes=tuple(result.notes),
            digest=result.digest,
            length_ms=result.length_ms,
            exchanges=result.exchanges,
            repeats=result.repeats,
            wall_s=result.wall_s,
        )
        try:
            for number, verdict in enumerate(result.verdicts):
                self._hand_over((_VERDICT, (self.run_id, number, *astuple(verdict))))
            self._hand_over((_END, (result.status, json.dumps(asdict(end)), self.run_id)))
        finally:
            self.close()
        if self._failure:
            raise self._failure

    def close(self) -> None:
        """Commit what was handed over and let go of the file; never raises: it may stand in a finally."""
        if self._thread is None:
            return
        self._queue.put(None)
        self._thread.join()
        self._thread = None
        self._connection.close()
        self._lock.release()

    def __enter__(self) -> RunWriter:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _hand_over(self, job: _Job) -> None:
        if self._thread is None:
            raise LogbookError(f"{self._path}: run {self.run_id} is closed. A fault of unlit: report it.")
        if self._failure:
            raise self._failure
        self._queue.put(job)

    def _work(self) -> None:
        going = True
        while going:
            jobs, going = self._gather()
            if self._failure or not jobs:
                continue
            try:
                with sqlite_errors(self._path):
                    self._commit(jobs)
            except LogbookError as error:
                self._fail(error)
            except Exception as error:
                self._fail(LogbookError(f"{self._path}: {type(error).__name__}: {error}. Report this."))

    def _fail(self, error: LogbookError) -> None:
        """This run can no longer end well: from now on it shows as interrupted."""
        self._failure = error
        self._lock.release()

    def _gather(self) -> tuple[list[_Job], bool]:
        """Wait for one job, then take all that have come meanwhile: they share a commit."""
        jobs: list[_Job] = []
        job = self._queue.get()
        while job is not None:
            jobs.append(job)
            if len(jobs) == QUEUE_LENGTH:
                return jobs, True
            try:
                job = self._queue.get_nowait()
            except queue.Empty:
                return jobs, True
        return jobs, False

    def _commit(self, jobs: list[_Job]) -> None:
        packed = [(sql, self._packed(*row) if sql is _CHUNK else row) for sql, row in jobs]
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            for sql, row in packed:
                self._connection.execute(sql, row)
            self._connection.execute("COMMIT")
        except BaseException:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
            raise

    def _packed(self, times: Times, values: Values) -> tuple[object, ...]:
        return self.run_id, len(times), pack_times(times), pack_values(values)
