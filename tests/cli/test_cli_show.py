"""The logbook from the command line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from harness.assertions.verdict import Outcome, Status, Verdict
from harness.bench.result import Event, RunResult
from harness.cli import main
from harness.logbook import Logbook, RunMeta


@pytest.fixture
def book(tmp_path: Path) -> str:
    book = Logbook(tmp_path / "book.sqlite")
    times = np.arange(0, 600_001, 250)
    values = np.column_stack([20 + times / 10_000, times >= 480_000])
    for title in ("Early", "Late"):
        meta = RunMeta(scenario_file="s.toml", scenario_text='title = "é"\n', title=title, plant="herms-gas")
        with book.begin(meta, ["liquor", "alarm"], ["degC", "bool"]) as writer:
            writer.chunk(times, values)
            writer.event(Event(480_000, "plant", "flame out"))
            writer.event(Event(10_000, "plant", "flame lit"))
            verdict = Verdict("gas shut", "", Outcome.BROKEN, -1.0, "s", 484_000)
            digest = book.read(writer.run_id)
            writer.finish(
                RunResult(
                    1, "s.toml", title, "builtin", Status.FAIL, (), (verdict,), (), "", 600_000, 2401, 0, 1.0
                )
            )
            assert digest.names == ("liquor", "alarm")
    return str(book.path)


def test_runs_lists_the_newest(book: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["runs", "--logbook", book, "--last", "1"]) == 0
    out = capsys.readouterr().out
    assert "Late" in out
    assert "Early" not in out
    assert "fail" in out


def test_show_tells_what_was_played_and_what_came_of_it(
    book: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["show", "1", "--logbook", book]) == 0
    out = capsys.readouterr().out
    for words in ("broken", "08:04.0", "flame out", "herms-gas, seed 0", "liquor", "No bench run"):
        assert words in out


def test_show_prints_values_around_a_moment(book: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["show", "1", "--logbook", book, "--signal", "liquor", "--signal", "alarm"]
    assert main([*words, "--around", "08:00", "--every", "5 s"]) == 0
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert lines == [
        ["time", "liquor", "[degC]", "alarm", "[bool]"],
        ["07:50.0", "67", "0"],
        ["07:55.0", "67.5", "0"],
        ["08:00.0", "68", "1"],
        ["08:05.0", "68.5", "1"],
        ["08:10.0", "69", "1"],
    ]


def test_show_fits_a_screen_by_default(book: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["show", "1", "--logbook", book, "--signal", "liquor"]) == 0
    assert len(capsys.readouterr().out.splitlines()) < 45


def test_show_prints_all_events_and_the_scenario(book: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["show", "1", "--logbook", book, "--events"]) == 0
    assert capsys.readouterr().out.count("flame lit") == 2  # in the time line, and in the list
    assert main(["show", "1", "--logbook", book, "--scenario"]) == 0
    assert capsys.readouterr().out == 'title = "é"\n'


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["9"], "no run 9; its last run is 2"),
        (["1", "--signal", "mash"], "no signal 'mash' was recorded. Recorded: liquor, alarm"),
        (["1", "--around", "noon"], "Write it as mm:ss"),
        (["1", "--signal", "liquor", "--every", "5 kg"], "--every 5 kg"),
        (["1", "--signal", "liquor", "--every", "0 s"], "Give 1 ms or more"),
    ],
)
def test_what_is_not_there_is_told(
    book: str, words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["show", *words, "--logbook", book]) == 2
    assert says in capsys.readouterr().err
