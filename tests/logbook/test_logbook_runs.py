"""What is written comes back, bit for bit; what went wrong is said."""

from __future__ import annotations

import itertools
import sqlite3
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from harness.assertions.verdict import Outcome, Status, Verdict
from harness.bench.result import RunResult
from harness.errors import LogbookError
from harness.logbook import Logbook, LoggedEvent, RunMeta, WrongLogbookError, file
from harness.logbook.digest import RunDigest

NAMES, UNITS = ("liquor", "flame", "in.liquor"), ("degC", "bool", "degC")
PLAIN = RunResult(
    run_id=1,
    scenario_file="first.toml",
    title="x",
    device="builtin",
    status=Status.PASS,
    reasons=(),
    verdicts=(),
    events=(),
    digest="",
    length_ms=2500,
    exchanges=10,
    repeats=0,
    wall_s=0.5,
    notes=("n",),
)
META = RunMeta(scenario_file="first.toml", scenario_text='title = "x"', seed=7, plant_setup={"ambient": 12.5})


def result(status: Status, **changes: object) -> RunResult:
    return replace(PLAIN, status=status, **changes)  # type: ignore[arg-type]


def some_rows(count: int, start: int = 0) -> tuple[np.ndarray, np.ndarray]:
    times = np.arange(start, start + count, dtype=np.int64) * 250
    return times, np.column_stack([times * 0.01, times % 2, np.full(count, np.nan)]).astype(float)


VERDICTS = (
    Verdict("gas shut", "common practice", Outcome.MET, 1.75, "s", 480_250, 2, ""),
    Verdict("never hot", "", Outcome.NOT_JUDGED, None, "", None, 0, "no reading"),
)


def test_a_finished_run_comes_back_whole(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "deep" / "book.sqlite")
    times, values = some_rows(10)
    digest = RunDigest(NAMES, UNITS)
    digest.chunk(times, values)
    with book.begin(META, NAMES, UNITS) as writer:
        assert book.runs()[0].shown_status == "running"
        writer.event(LoggedEvent(500, "plant", "flame lit"))
        writer.chunk(times, values)
        writer.event(LoggedEvent(250, "device", "say hello"))
        writer.finish(result(Status.FAIL, reasons=("why",), verdicts=VERDICTS, digest=digest.hexdigest()))
    record = book.read(writer.run_id)
    assert record.summary == book.runs()[0]
    assert record.summary.meta == META
    assert record.summary.shown_status == "fail"
    assert record.summary.end.reasons == ["why"]
    assert record.summary.end.exchanges == 10
    assert record.summary.end.wall_s == 0.5
    assert record.verdicts == VERDICTS
    assert [event.text for event in record.events] == ["say hello", "flame lit"]
    assert record.units == dict(zip(NAMES, UNITS, strict=True))
    assert record.computed_digest() == record.summary.end.digest
    assert not list(tmp_path.glob("deep/*-run-*")), "the lock is left behind"


@given(
    values=hnp.arrays(
        np.float64,
        hnp.array_shapes(min_dims=2, max_dims=2, min_side=0, max_side=6),
        elements=st.floats(width=64, allow_nan=True, allow_infinity=True),
    ),
    cuts=st.lists(st.integers(0, 6), max_size=3),
)
def test_every_bit_comes_back_however_the_chunks_are_cut(values: np.ndarray, cuts: list[int]) -> None:
    rows, width = values.shape
    times = np.arange(rows, dtype=np.int64) - 3
    names, units = [f"s{n}" for n in range(width)], ["K"] * width
    whole, pieces = RunDigest(names, units), RunDigest(names, units)
    whole.chunk(times, values)
    with tempfile.TemporaryDirectory() as folder:
        book = Logbook(Path(folder) / "b")
        with book.begin(META, names, units) as writer:
            edges = sorted({0, *(min(cut, rows) for cut in cuts), rows})
            for low, high in itertools.pairwise(edges):
                writer.chunk(times[low:high], values[low:high])
                pieces.chunk(times[low:high], values[low:high])
            writer.finish(result(Status.PASS, digest=whole.hexdigest()))
        record = book.read(1)
        back_times, back = record.signals()
        assert back_times.tobytes() == times.tobytes()
        for column, name in enumerate(names):
            assert back[name].tobytes() == values[:, column].tobytes()
        assert whole.hexdigest() == pieces.hexdigest() == record.computed_digest()


def test_four_hours_at_10_hz_with_20_signals_come_back_exactly(tmp_path: Path) -> None:
    names = [f"s{n}" for n in range(20)]
    times = np.arange(0, 4 * 3_600_000 + 1, 100, dtype=np.int64)
    values = np.random.default_rng(4).normal(60.0, 0.02, (len(times), 20)).cumsum(axis=1)
    values[:, 10:] = values[:, 10:] > 700.0
    values[5000:9000, 3] = np.nan
    digest = RunDigest(names, ["K"] * 20)
    with Logbook(tmp_path / "b").begin(META, names, ["K"] * 20) as writer:
        for first in range(0, len(times), 1024):
            part = slice(first, first + 1024)
            digest.chunk(times[part], values[part])
            writer.chunk(times[part], values[part])
        writer.finish(result(Status.PASS, digest=digest.hexdigest()))
    record = Logbook(tmp_path / "b").read(1)
    back_times, back = record.signals()
    assert len(times) == 144_001
    assert back_times.tobytes() == times.tobytes()
    assert [name for at, name in enumerate(names) if back[name].tobytes() != values[:, at].tobytes()] == []
    assert record.computed_digest() == record.summary.end.digest


def test_the_digest_sees_each_part_and_not_the_payload_of_nan() -> None:
    times, values = some_rows(3)

    def of(t: np.ndarray, v: np.ndarray, names=NAMES, units=UNITS) -> str:  # type: ignore[no-untyped-def]
        digest = RunDigest(names, units)
        digest.chunk(t, v)
        return digest.hexdigest()

    same = of(times, values)
    other_nan = values.copy()
    other_nan[:, 2] = np.frombuffer(b"\x01\0\0\0\0\0\xf8\xff", "<f8")[0]
    assert np.isnan(other_nan[0, 2])
    assert of(times, other_nan) == same
    assert of(times, np.asfortranarray(values)) == same
    moved = values.copy()
    moved[1, 0] = np.nextafter(moved[1, 0], 9e9)
    different = {
        of(times, moved),
        of(times + 1, values),
        of(times, values, ("a", "b", "c")),
        of(times, values, NAMES, ("K", "K", "K")),
        of(times[:2], values[:2]),
    }
    assert len(different | {same}) == 6


def test_a_subset_of_signals_is_read_in_the_order_asked(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "b")
    with book.begin(META, NAMES, UNITS) as writer:
        for start in (0, 4):
            writer.chunk(*some_rows(4, start))
        writer.finish(result(Status.PASS))
    times, columns = book.read(1).signals(["flame", "liquor"])
    assert list(columns) == ["flame", "liquor"]
    assert np.array_equal(columns["liquor"], times * 0.01)
    with pytest.raises(WrongLogbookError, match=r"no signal 'mash'.*liquor, flame"):
        book.read(1).signals(["mash"])


def test_the_caller_may_reuse_its_arrays(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "b")
    times, values = some_rows(4)
    kept = values.copy()
    with book.begin(META, NAMES, UNITS) as writer:
        writer.chunk(times, values)
        values[:] = -1
        times[:] = -1
        writer.finish(result(Status.PASS))
    back_times, columns = book.read(1).signals()
    assert np.array_equal(columns["liquor"], kept[:, 0])
    assert back_times[0] == 0


def test_many_runs_share_a_file_and_the_last_ones_are_listed(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "b")
    for seed in range(4):
        with book.begin(RunMeta(scenario_file="a.toml", seed=seed), NAMES, UNITS) as writer:
            writer.chunk(*some_rows(seed + 1))
            writer.finish(result(Status.PASS))
    assert [run.meta.seed for run in book.runs()] == [0, 1, 2, 3]
    assert [run.run_id for run in book.runs(last=2)] == [3, 4]
    assert len(book.read(2).signals()[0]) == 2


@pytest.mark.parametrize(
    ("names", "units"), [(("a", "a"), ("K", "K")), (("a",), ()), (("a", "b"), ("K",))], ids=str
)
def test_a_name_stands_once_and_has_a_unit(
    tmp_path: Path, names: tuple[str, ...], units: tuple[str, ...]
) -> None:
    with pytest.raises(ValueError, match="names"):
        Logbook(tmp_path / "b").begin(META, names, units)


def test_rows_of_another_width_are_refused(tmp_path: Path) -> None:
    with Logbook(tmp_path / "b").begin(META, NAMES, UNITS) as writer:
        with pytest.raises(ValueError, match=r"\(2, 2\).*\(2, 3\)"):
            writer.chunk(np.zeros(2, np.int64), np.zeros((2, 2)))
        with pytest.raises(ValueError, match="shape"):
            RunDigest(NAMES, UNITS).chunk(np.zeros(2, np.int64), np.zeros((2, 2)))


def test_a_run_that_is_left_without_an_end_is_interrupted(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "b")
    with book.begin(META, NAMES, UNITS) as writer:
        writer.chunk(*some_rows(3))
    assert book.runs()[0].shown_status == "interrupted"
    assert len(book.read(1).signals()[0]) == 3
    with pytest.raises(LogbookError, match="closed"):
        writer.chunk(*some_rows(1))


def no_logbook(path: Path) -> None:
    pass


def text_file(path: Path) -> None:
    path.write_text("this is a letter, not a database, and long enough to be seen as one\n" * 20)


def foreign_database(path: Path) -> None:
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE beers (name TEXT)")
    other.close()


def newer_logbook(path: Path) -> None:
    Logbook(path).begin(META, NAMES, UNITS).close()
    with sqlite3.connect(path) as other:
        other.execute("PRAGMA user_version = 99")
    other.close()


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (no_logbook, "there is no logbook here"),
        (Path.touch, "is empty"),
        (text_file, "is not a logbook"),
        (foreign_database, "of another program"),
        (newer_logbook, "version 99, this unlit knows up to version 2"),
    ],
    ids=lambda value: getattr(value, "__name__", "says"),
)
def test_a_file_that_cannot_be_ours_is_refused(tmp_path: Path, make, says: str) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "book.sqlite"
    make(path)
    with pytest.raises(WrongLogbookError, match=says) as caught:
        Logbook(path).runs()
    assert caught.value.exit_code == 2
    assert str(path) in str(caught.value)
    if make in (text_file, foreign_database, newer_logbook):
        before = path.read_bytes()
        with pytest.raises(WrongLogbookError, match=says):
            Logbook(path).begin(META, NAMES, UNITS)
        assert path.read_bytes() == before


def test_a_run_that_is_not_there_is_named(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "b")
    book.begin(META, NAMES, UNITS).close()
    with pytest.raises(WrongLogbookError, match="no run 5; its last run is 1"):
        book.read(5)


def test_a_damaged_chunk_is_said(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "b")
    with book.begin(META, NAMES, UNITS) as writer:
        writer.chunk(*some_rows(3))
        writer.finish(result(Status.PASS))
    with sqlite3.connect(book.path) as raw:
        raw.execute("UPDATE chunks SET row_count = 4")
    raw.close()
    with pytest.raises(LogbookError, match="damaged"):
        book.read(1).signals()


def altered(path: Path, *statements: str) -> Logbook:
    """A logbook of one run, changed by SQL."""
    Logbook(path).begin(META, NAMES, UNITS).close()
    with sqlite3.connect(path) as other:
        for statement in statements:
            other.execute(statement)
    other.close()
    return Logbook(path)


def version_of(path: Path) -> int:
    with sqlite3.connect(path) as other:
        version: int = other.execute("PRAGMA user_version").fetchone()[0]
    other.close()
    return version


def test_an_older_logbook_is_read_and_becomes_a_newer_one_when_written(tmp_path: Path) -> None:
    older = "UPDATE runs SET meta = json_remove(meta, '$.firmware', '$.assertions')"
    book = altered(tmp_path / "b", older, "PRAGMA user_version = 1")
    read = book.read(1).summary.meta
    assert (read.scenario_file, read.seed, dict(read.firmware), read.assertions) == ("first.toml", 7, {}, [])
    assert version_of(book.path) == 1
    book.begin(META, NAMES, UNITS).close()
    assert version_of(book.path) == 2
    assert [run.run_id for run in book.runs()] == [1, 2]


def test_what_a_later_unlit_adds_to_a_run_is_left_alone(tmp_path: Path) -> None:
    book = altered(
        tmp_path / "b", "UPDATE runs SET meta = json_set(meta, '$.weather', 'fair'), ended = '{\"mood\": 1}'"
    )
    assert book.read(1).summary.meta.seed == 7


@pytest.mark.parametrize("meta", ["{", "[]", "{}", '{"seed": 1}'])
def test_a_damaged_run_is_told_and_is_no_fault_of_unlit(tmp_path: Path, meta: str) -> None:
    book = altered(tmp_path / "b", f"UPDATE runs SET meta = '{meta}'")
    for ask in (book.runs, lambda: book.read(1)):
        with pytest.raises(LogbookError, match="run 1 is damaged: "):
            ask()


@pytest.mark.parametrize("left", [b"", b"x" * 100], ids=["all of it there", "a part waits beside it"])
def test_a_logbook_is_read_where_nothing_can_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, left: bytes
) -> None:
    book = altered(tmp_path / "b")
    (tmp_path / "b-wal").write_bytes(left)
    real = file.connect

    class Protected:
        """What SQLite does on a medium that is write-protected, seen on a tmpfs mounted read-only."""

        def execute(self, _: str) -> None:
            error = sqlite3.OperationalError("unable to open database file")
            error.sqlite_errorcode = sqlite3.SQLITE_CANTOPEN
            raise error

        def close(self) -> None:
            pass

    def connect(path: Path, mode: str, *, immutable: bool = False) -> object:
        return real(path, mode, immutable=True) if immutable else Protected()

    monkeypatch.setattr(file, "connect", connect)
    if left:
        with pytest.raises(LogbookError, match="Copy both to a folder"):
            book.runs()
    else:
        assert [run.run_id for run in book.runs()] == [1]
