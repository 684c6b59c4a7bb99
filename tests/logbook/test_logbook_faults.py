"""Nothing is lost without a word: full disks, killed writers, several processes at one file."""

from __future__ import annotations

import resource
import signal
import sqlite3
import subprocess
import sys
import textwrap
from pathlib import Path

import numpy as np
import pytest

from harness.assertions.verdict import Status
from harness.bench.result import RunResult
from harness.errors import LogbookError
from harness.logbook import Logbook, LoggedEvent, RunMeta, file
from harness.logbook.writer import QUEUE_LENGTH

PASSED = RunResult(1, "a.toml", "", "builtin", Status.PASS, (), (), (), "", 0, 0, 0, 0.0)
META = RunMeta(scenario_file="a.toml")
ROOT = Path(__file__).resolve().parents[2]


def rows(number: int, count: int = 100) -> tuple[np.ndarray, np.ndarray]:
    """Rows that do not compress, so that a small disk is soon full."""
    noise = np.random.default_rng(number).random((count, 2))
    return np.arange(count, dtype=np.int64) + number * count, noise


CHILD = """
import sys, numpy as np
from pathlib import Path
from harness.assertions.verdict import Status
from harness.bench.result import RunResult
from harness.logbook import Logbook, RunMeta
PASSED = RunResult(1, "a.toml", "", "builtin", Status.PASS, (), (), (), "", 0, 0, 0, 0.0)
def rows(number, count=100):
    noise = np.random.default_rng(number).random((count, 2))
    return np.arange(count, dtype=np.int64) + number * count, noise
def begin(seed=0):
    meta = RunMeta(scenario_file="child.toml", seed=seed)
    return Logbook(Path(sys.argv[1])).begin(meta, ["a", "b"], ["K", "K"])
"""


def child(book: Path, body: str, **options: object) -> subprocess.Popen[str]:
    code = CHILD + textwrap.dedent(body)
    return subprocess.Popen(  # type: ignore[call-overload,no-any-return]
        [sys.executable, "-c", code, str(book)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        **options,
    )


def test_a_killed_process_keeps_what_was_committed_and_never_passes(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "b")
    body = """
        writer = begin()
        for number in range(1000000):
            writer.chunk(*rows(number))
            if number == 50:
                print("going", flush=True)
    """
    with child(book.path, body) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "going\n"
        assert book.runs()[0].shown_status == "running"
        assert book.runs()[0].meta.process == process.pid
        process.send_signal(signal.SIGKILL)
    record = book.read(1)
    assert record.summary.shown_status == "interrupted"
    assert record.summary.status is Status.RUNNING
    times, columns = record.signals()
    chunks = len(times) // 100
    assert chunks >= 51 - 2 * QUEUE_LENGTH
    assert np.array_equal(times, np.arange(chunks * 100))
    assert np.array_equal(columns["b"], np.concatenate([rows(n)[1][:, 1] for n in range(chunks)]))
    with sqlite3.connect(book.path) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    raw.close()
    with book.begin(META, ["a"], ["K"]) as writer:
        writer.finish(PASSED)
    assert [run.shown_status for run in book.runs()] == ["interrupted", "pass"]
    assert not list(tmp_path.glob("*-run-*")), "the next run takes the dead one's lock away"


def test_two_processes_write_one_file_at_once(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "b")
    body = """
        writer = begin(int(sys.stdin.readline()))
        print("begun", flush=True)
        sys.stdin.readline()
        for number in range(40):
            writer.chunk(*rows(number))
        writer.finish(PASSED)
    """
    with child(book.path, body) as one, child(book.path, body) as two:
        for seed, process in ((1, one), (2, two)):
            assert process.stdin is not None
            process.stdin.write(f"{seed}\n")
            process.stdin.flush()
        for process in (one, two):
            assert process.stdout is not None
            assert process.stdout.readline() == "begun\n"
        assert [run.shown_status for run in book.runs()] == ["running", "running"]
        for process in (one, two):
            assert process.communicate("go\n") == ("", "")
            assert process.returncode == 0
    runs = book.runs()
    assert {run.meta.seed for run in runs} == {1, 2}
    for run in runs:
        assert run.shown_status == "pass"
        _, columns = book.read(run.run_id).signals(["a"])
        assert np.array_equal(columns["a"], np.concatenate([rows(n)[1][:, 0] for n in range(40)]))


def test_a_reader_sees_whole_chunks_while_a_run_is_written(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "b")
    seen = []
    with book.begin(META, ["a", "b"], ["K", "K"]) as writer:
        for number in range(60):
            writer.chunk(*rows(number))
            if number % 10 == 0:
                record = book.read(1)
                assert record.summary.shown_status == "running"
                times, _ = record.signals()
                assert np.array_equal(times, np.arange(len(times)))
                seen.append(len(times))
        writer.finish(PASSED)
    assert all(count % 100 == 0 for count in seen)
    assert seen == sorted(seen)
    assert len(book.read(1).signals()[0]) == 6000


def write_until_it_fails(writer, chunks: int = 3000) -> None:  # type: ignore[no-untyped-def]
    for number in range(chunks):
        writer.chunk(*rows(number))


def test_a_full_disk_is_said_at_the_next_call_and_at_the_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = Logbook(tmp_path / "b")
    real = file.connect

    def small_disk(path: Path, mode: str) -> sqlite3.Connection:
        connection = real(path, mode)
        connection.execute("PRAGMA max_page_count = 40")
        return connection

    monkeypatch.setattr(file, "connect", small_disk)
    writer = book.begin(META, ["a", "b"], ["K", "K"])
    with pytest.raises(LogbookError, match=r"full.*Make room"):
        write_until_it_fails(writer)
    with pytest.raises(LogbookError, match="full"):
        writer.event(LoggedEvent(0, "bench", "x"))
    with pytest.raises(LogbookError, match="full"):
        writer.finish(PASSED)
    monkeypatch.undo()
    record = book.read(1)
    assert record.summary.shown_status == "interrupted"
    times, _ = record.signals()
    assert len(times) >= 100
    assert np.array_equal(times, np.arange(len(times)))


def test_the_end_alone_tells_of_a_failure_that_came_late(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    writer = Logbook(tmp_path / "b").begin(META, ["a", "b"], ["K", "K"])
    monkeypatch.setattr(writer, "_commit", lambda jobs: (_ for _ in ()).throw(MemoryError("no more")))
    with pytest.raises(LogbookError, match="MemoryError: no more"):
        writer.finish(PASSED)


def test_a_file_that_may_not_grow_ends_in_a_logbook_error(tmp_path: Path) -> None:
    """The operating system itself refuses to write: a limit on file sizes stands in for the full disk."""
    body = """
        from harness.errors import LogbookError
        writer = begin()
        try:
            for number in range(3000):
                writer.chunk(*rows(number))
            writer.finish(PASSED)
        except LogbookError as error:
            print(error)
    """
    limit = (300_000, 300_000)
    with child(
        tmp_path / "b", body, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, limit)
    ) as process:
        out, err = process.communicate()
    assert err == ""
    assert str(tmp_path / "b") in out
    assert Logbook(tmp_path / "b").runs()[0].shown_status == "interrupted"


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("")
    with pytest.raises(LogbookError, match="taken"):
        Logbook(tmp_path / "taken" / "b").begin(META, [], [])


def test_a_logbook_that_another_program_holds_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(file, "PATIENCE_S", 0.0)
    book = Logbook(tmp_path / "b")
    book.begin(META, [], []).close()
    holder = sqlite3.connect(book.path, isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    with pytest.raises(LogbookError, match=r"locked.*End the program"):
        book.begin(META, [], [])
    holder.close()
    assert not list(tmp_path.glob("*-run-*"))
