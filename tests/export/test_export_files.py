"""Exported traces, each read back by a reader of somebody else's, bit for bit."""

from __future__ import annotations

import csv
import math
import signal
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from harness.cli import main
from harness.export import parquet_file
from harness.logbook import Logbook, RunMeta, RunRecord

NAMES = ("liquor", "flame", "out.gas_valve", "in.mash", "out.alarm")
UNITS = ("degC", "bool", "bool", "degC", "bool")
NAN = math.nan
ODD = [0.1 + 0.2, -0.0, 5e-324, 1.7976931348623157e308, 1e16, 123456789.125, NAN, math.inf, -math.inf]


def read_vcd(file: Path) -> Any:
    """By vcdvcd, which lets SIGPIPE kill this process once it is imported: that is undone."""
    before = signal.getsignal(signal.SIGPIPE)
    from vcdvcd import VCDVCD

    signal.signal(signal.SIGPIPE, before)
    return VCDVCD(str(file))


def recorded(
    folder: Path, times: Sequence[int], rows: Sequence[Sequence[float]], chunk: int = 3, title: str = "A run"
) -> RunRecord:
    """A run with these rows; it has no end."""
    book = Logbook(folder / "book")
    writer = book.begin(RunMeta(scenario_file="a.toml", title=title, device="builtin"), NAMES, UNITS)
    for at in range(0, len(times), chunk):
        values = np.array(rows[at : at + chunk], dtype=float).reshape(-1, len(NAMES))
        writer.chunk(np.array(times[at : at + chunk], dtype=np.int64), values)
    run_id = writer.run_id
    writer.close()
    return book.read(run_id)


def export(folder: Path, *words: str) -> int:
    return main(["export", "1", "--logbook", str(folder / "book"), *words])


def bits(values: NDArray[np.float64]) -> list[int]:
    """Each number as its 64 bits, every NaN the same."""
    whole = np.array(values, dtype=np.float64)
    whole[np.isnan(whole)] = NAN
    found: list[int] = whole.view(np.int64).tolist()
    return found


def read_csv(path: Path) -> tuple[list[str], list[int], NDArray[np.float64]]:
    with path.open(newline="") as file:
        head, *rows = list(csv.reader(file))
    values = [[float(cell) if cell else NAN for cell in row[1:]] for row in rows]
    return head, [int(row[0]) for row in rows], np.array(values)


@pytest.fixture
def odd(tmp_path: Path) -> RunRecord:
    times = [0, 0, 250, 250, 500, 750, 1000, 1250, 1500]
    rows = [
        [value, float(at % 2), NAN if at == 4 else float(at > 2), -value, 0.0] for at, value in enumerate(ODD)
    ]
    return recorded(tmp_path, times, rows)


def test_csv_reads_back_every_bit(odd: RunRecord, tmp_path: Path) -> None:
    assert export(tmp_path, str(tmp_path / "r.csv")) == 0
    head, times, values = read_csv(tmp_path / "r.csv")
    assert head == ["time [ms]", *(f"{n} [{u}]" for n, u in zip(NAMES, UNITS, strict=True))]
    kept_times, kept = odd.signals()
    assert times == kept_times.tolist()
    assert [bits(values[:, at]) for at in range(5)] == [bits(kept[name]) for name in NAMES]


@given(values=st.lists(st.floats(), min_size=1, max_size=8))
def test_any_number_is_read_back(values: list[float], tmp_path_factory: pytest.TempPathFactory) -> None:
    from harness.export.csv_file import _text

    assert bits([float(_text(value) or "nan") for value in values]) == bits(values)


def test_parquet_reads_back_every_bit_and_says_what_it_is(
    odd: RunRecord, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(parquet_file, "GROUP_ROWS", 5)
    assert export(tmp_path, str(tmp_path / "r.parquet")) == 0
    table = pq.read_table(tmp_path / "r.parquet")
    assert pq.ParquetFile(tmp_path / "r.parquet").num_row_groups == 2
    times, kept = odd.signals()
    assert table.column("time").to_pylist() == times.tolist()
    assert [bits(table.column(name).to_numpy()) for name in NAMES] == [bits(kept[name]) for name in NAMES]
    assert [table.schema.field(name).metadata[b"unit"].decode() for name in NAMES] == list(UNITS)
    about = table.schema.metadata
    assert (about[b"unlit.run"], about[b"unlit.title"], about[b"unlit.status"]) == (
        b"1",
        b"A run",
        b"interrupted",
    )


def test_without_pyarrow_a_person_is_told_how_to_get_it(
    odd: RunRecord, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    assert export(tmp_path, str(tmp_path / "r.parquet")) == 2
    said = capsys.readouterr().err
    assert f"unlit export: {tmp_path / 'r.parquet'}: Parquet needs pyarrow" in said
    assert "pip install 'unlit[parquet]'" in said
    assert not [path for path in tmp_path.iterdir() if "parquet" in path.name]


def test_a_vcd_without_a_switch_is_refused_by_its_own_name(
    odd: RunRecord, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert export(tmp_path, str(tmp_path / "r.vcd"), "--signal", NAMES[0]) == 2
    assert f"unlit export: {tmp_path / 'r.vcd'}: a VCD file holds" in capsys.readouterr().err


def held(times: NDArray[np.int64], values: NDArray[np.float64], t_ms: int) -> str:
    """What holds at a time, as a letter."""
    value = values[np.searchsorted(times, t_ms, side="right") - 1]
    return "x" if math.isnan(value) else str(int(value))


def test_vcd_reads_back_what_holds_at_every_moment(odd: RunRecord, tmp_path: Path) -> None:
    assert export(tmp_path, str(tmp_path / "r.vcd")) == 0
    read = read_vcd(tmp_path / "r.vcd")
    assert sorted(read.references_to_ids) == ["out.alarm", "out.gas_valve", "plant.flame"]
    assert float(read.timescale["timescale"]) == pytest.approx(1e-3)
    times, kept = odd.signals()
    for name in ("flame", "out.gas_valve", "out.alarm"):
        signal = read[name if "." in name else f"plant.{name}"]
        assert [signal[t] for t in range(0, 1501, 50)] == [
            held(times, kept[name], t) for t in range(0, 1501, 50)
        ]
    assert read.endtime == 1500


@settings(max_examples=25)
@given(
    gaps=st.lists(st.integers(0, 3), min_size=1, max_size=12),
    letters=st.lists(st.sampled_from([0.0, 1.0, NAN]), min_size=12, max_size=12),
    chunk=st.integers(1, 5),
)
def test_vcd_of_any_run(
    gaps: list[int], letters: list[float], chunk: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("vcd")
    times = np.cumsum(gaps)
    rows = [[0.0, value, 0.0, 0.0, 0.0] for value in letters[: len(times)]]
    record = recorded(folder, times.tolist(), rows, chunk, title="$end of [it]\n$var")
    assert export(folder, str(folder / "r.vcd"), "--signal", "flame") == 0
    flame = read_vcd(folder / "r.vcd")["plant.flame"]
    kept_times, kept = record.signals()
    moments = range(int(times[0]), int(times[-1]) + 1)
    assert [flame[t] for t in moments] == [held(kept_times, kept["flame"], t) for t in moments]


def test_many_signals_have_codes_of_their_own() -> None:
    from harness.export.vcd_file import _code

    codes = [_code(at) for at in range(20_000)]
    assert len(set(codes)) == 20_000
    assert all(33 <= ord(char) <= 126 for code in codes for char in code)
    assert (codes[0], codes[93], codes[94]) == ("!", "~", "!!")


def test_only_the_signals_asked_for(odd: RunRecord, tmp_path: Path) -> None:
    words = ("--signal", "in.mash", "--signal", "flame", "--signal", "flame")
    assert export(tmp_path, str(tmp_path / "r.csv"), *words) == 0
    assert read_csv(tmp_path / "r.csv")[0] == ["time [ms]", "in.mash [degC]", "flame [bool]"]


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ((), 2, "name a file to write to"),
        (("r.txt",), 2, "r.txt: ends in none of .csv, .parquet, .vcd"),
        (("r.csv", "--signal", "likor"), 2, "no signal 'likor' was recorded"),
        (("r.vcd", "--signal", "liquor"), 2, "there are none"),
        (("folder.csv",), 3, "folder.csv: cannot be written: it is a folder"),
        (("full.csv",), 3, "full.csv: cannot be written: No space left on device. Make room"),
    ],
)
def test_what_cannot_be_is_told(
    odd: RunRecord,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, ...],
    code: int,
    said: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("folder.csv").mkdir()
    Path("full.csv").symlink_to("/dev/full")
    Path("r.csv").write_text("before")
    assert export(tmp_path, *words) == code
    assert said in capsys.readouterr().err
    assert Path("r.csv").read_text() == "before"
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_a_run_without_rows_or_end_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    recorded(tmp_path, [], [])
    assert export(tmp_path, str(tmp_path / "r.csv")) == 2
    assert "run 1 recorded no values" in capsys.readouterr().err


def test_a_cut_off_run_is_exported_and_said(
    odd: RunRecord, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert export(tmp_path, str(tmp_path / "r.csv")) == 0
    assert "run 1 was interrupted: this is what it had recorded by then" in capsys.readouterr().out
