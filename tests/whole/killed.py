"""`unlit run` in a process of its own that is killed at a counted moment of its recording.

The process is a fork: the wrappers that count live in it alone, the program has no hook for them.
"""

from __future__ import annotations

import os
import signal
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import harness.bench.run as bench_run
from harness.cli import main
from harness.logbook import file as logbook_file
from harness.logbook.writer import RunWriter

#: So that a run of two minutes is some forty chunks.
CHUNK_ROWS = 16


@dataclass(frozen=True)
class Moment:
    """When to die: before the `number`th time that `what` happens (counted from 1).

    what : "statement", any that is put to SQLite, from the opening of the file on; "insert", of a run's
    rows, so amid a transaction; "commit", the first one after that many inserts; "handed over", a chunk or an
    event that the bench gives to the logbook's thread, wherever that is then.
    """

    what: str
    number: int


class Counter:
    """Counts what happens, and kills the process at the moment; without one, it only counts."""

    def __init__(self, moment: Moment | None, report: int) -> None:
        self._moment, self._report = moment, report
        self.seen = {"statement": 0, "insert": 0, "handed over": 0}

    def watch(self, patch: pytest.MonkeyPatch) -> None:
        """Wrap the connections that are opened and the writer from now on."""
        connect, commit, hand_over = logbook_file.connect, RunWriter._commit, RunWriter._hand_over

        def watched(path: Path, mode: str) -> sqlite3.Connection:
            connection = connect(path, mode)
            connection.set_trace_callback(self._statement)
            return connection

        def committed(writer: RunWriter, jobs: Any) -> None:
            commit(writer, jobs)
            chunks = sum(sql.startswith("INSERT INTO chunks") for sql, _ in jobs)
            os.write(self._report, f"{chunks} {len(jobs) - chunks}\n".encode())

        def handed_over(writer: RunWriter, job: Any) -> None:
            self._count("handed over")
            hand_over(writer, job)

        patch.setattr(logbook_file, "connect", watched)
        patch.setattr(RunWriter, "_commit", committed)
        patch.setattr(RunWriter, "_hand_over", handed_over)
        patch.setattr(bench_run, "CHUNK_ROWS", CHUNK_ROWS)

    def _statement(self, sql: str) -> None:
        self._count("statement")
        if sql.startswith(("INSERT INTO chunks", "INSERT INTO events")):
            self._count("insert")
        elif sql.startswith("COMMIT") and self._moment is not None and self._moment.what == "commit":
            self._die_if(self.seen["insert"] >= self._moment.number)

    def _count(self, what: str) -> None:
        self.seen[what] += 1
        self._die_if(self._moment == Moment(what, self.seen[what]))

    def _die_if(self, now: bool) -> None:
        if now:
            os.kill(os.getpid(), signal.SIGKILL)


@dataclass(frozen=True)
class Ended:
    """How the process ended, and what it had been told is on the disk."""

    status: int
    chunks: int
    others: int


def in_a_fork(act: Callable[[], int], folder: Path, moment: Moment | None) -> Ended:
    """Do `act` in a process of its own in `folder`, killed at `moment`."""
    reader, report = os.pipe()
    child = os.fork()
    if not child:
        code = 70
        try:
            os.close(reader)
            os.chdir(folder)
            for number in (0, 1, 2):
                os.dup2(os.open(os.devnull, os.O_RDWR), number)
            with pytest.MonkeyPatch.context() as patch:
                Counter(moment, report).watch(patch)
                code = act()
        finally:
            os._exit(code)
    os.close(report)
    with os.fdopen(reader) as lines:
        told = [[int(count) for count in line.split()] for line in lines]
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    return Ended(status, sum(chunks for chunks, _ in told), sum(others for _, others in told))


def run_killed(folder: Path, words: tuple[str, ...], moment: Moment | None) -> Ended:
    """`unlit run WORDS` in `folder`, killed at `moment`."""
    return in_a_fork(lambda: main(["run", *words]), folder, moment)
