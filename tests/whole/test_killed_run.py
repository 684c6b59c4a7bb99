"""A run killed by SIGKILL at 50 counted moments: what was committed is there, exactly, and nothing passes."""

from __future__ import annotations

import json
import shutil
import signal
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from harness.cli import main
from harness.logbook import Logbook, LoggedEvent, WrongLogbookError
from tests.firmware import Firmware
from tests.whole.killed import Moment, run_killed
from tests.whole.rehearsal import BUSY, book

FILES = ("--json", "r.json", "--junit", "r.xml", "--summary", "r.md")
#: What the busy scenario records at the least; the moments are spread over it.
CHUNKS, EVENTS = 31, 49
MOMENTS = [
    *(Moment("insert", number) for number in range(1, CHUNKS + EVENTS, 6)),
    *(Moment("commit", number) for number in range(2, CHUNKS + EVENTS, 6)),
    *(Moment("handed over", number) for number in range(3, CHUNKS + EVENTS, 6)),
]
#: A new logbook is made and its first run listed in some 25 statements.
STARTS = [Moment("statement", number) for number in range(1, 21, 2)]


@dataclass(frozen=True)
class Whole:
    """The run as it is when nobody kills it, and the words that play it."""

    words: tuple[str, ...]
    folder: Path
    chunks: list[int]
    times: np.ndarray
    values: np.ndarray
    events: tuple[LoggedEvent, ...]


def matrix(of: Logbook, run: int) -> tuple[np.ndarray, np.ndarray]:
    """Times (n,) and values (n, m) of a run as the logbook gives them back."""
    record = of.read(run)
    times, columns = record.signals()
    return times, np.stack([columns[name] for name in record.names], axis=1)


def statuses(of: Logbook) -> list[str]:
    """What became of each run; a logbook whose making was cut short holds none."""
    try:
        return [run.shown_status for run in of.runs()]
    except WrongLogbookError as none_yet:
        if "no runs" in str(none_yet):
            return []
        raise


def chunk_lengths(of: Logbook, run: int) -> list[int]:
    """The rows of each chunk of a run."""
    return [len(times) for times, _ in of.read(run).chunks([])]


@pytest.fixture(scope="module")
def whole(reference: Callable[[], Firmware], tmp_path_factory: pytest.TempPathFactory) -> Whole:
    folder = tmp_path_factory.mktemp("whole")
    (folder / "busy.toml").write_text(BUSY)
    words = ("busy.toml", "--device", reference().links["lib"], *FILES)
    assert run_killed(folder, words, None).status == 0
    assert json.loads((folder / "r.json").read_text())["passed"] is True
    assert statuses(book(folder)) == ["pass"]
    times, values = matrix(book(folder), 1)
    events = book(folder).read(1).events
    chunks = chunk_lengths(book(folder), 1)
    assert len(chunks) >= CHUNKS
    assert len(events) >= EVENTS
    return Whole(words, folder, chunks, times, values, events)


def test_the_moments_are_fifty() -> None:
    assert len({*MOMENTS, *STARTS}) == 50


@pytest.mark.parametrize("moment", MOMENTS, ids=lambda moment: f"{moment.what} {moment.number}")
def test_what_was_committed_is_there_and_nothing_passes(
    moment: Moment,
    whole: Whole,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder = tmp_path / "killed"
    shutil.copytree(whole.folder, folder)  # with a run that has passed, and its result files
    ended = run_killed(folder, whole.words, moment)
    assert ended.status == -signal.SIGKILL

    kept = book(folder)
    assert statuses(kept) == ["pass", "interrupted"]
    killed = kept.read(2)
    assert killed.summary.status != "pass"
    assert killed.verdicts == ()
    times, values = matrix(kept, 2)
    chunks = chunk_lengths(kept, 2)
    assert len(chunks) >= ended.chunks
    assert chunks == whole.chunks[: len(chunks)]
    assert np.array_equal(times, whole.times[: len(times)])
    assert np.array_equal(values, whole.values[: len(times)], equal_nan=True)
    assert len(killed.events) >= ended.others
    assert killed.events == whole.events[: len(killed.events)]
    assert np.array_equal(matrix(kept, 1)[1], whole.values, equal_nan=True)

    nothing_says_passed(folder)
    monkeypatch.chdir(folder)
    assert (main(["runs"]), main(["show", "2"])) == (0, 0)
    assert capsys.readouterr().out.count("interrupted") >= 2


@pytest.mark.parametrize("moment", STARTS, ids=lambda moment: str(moment.number))
def test_a_new_logbook_opens_whatever_became_of_it(moment: Moment, whole: Whole, tmp_path: Path) -> None:
    shutil.copy(whole.folder / "busy.toml", tmp_path)
    assert run_killed(tmp_path, whole.words, moment).status == -signal.SIGKILL
    assert statuses(book(tmp_path)) in ([], ["interrupted"])
    nothing_says_passed(tmp_path)
    assert run_killed(tmp_path, whole.words, None).status == 0
    assert statuses(book(tmp_path))[-1] == "pass"


def nothing_says_passed(folder: Path) -> None:
    """The three files of the killed session tell machines that it showed nothing."""
    told = json.loads((folder / "r.json").read_text())
    assert (told["passed"], told["exit_code"]) == (False, None)
    assert [run["status"] for run in told["runs"]] == ["not played"]
    suite = ElementTree.parse(folder / "r.xml").getroot()
    assert (suite.get("tests"), suite.get("errors")) == ("1", "1")
    assert "**pass**" not in (folder / "r.md").read_text()


def test_page_and_export_of_a_killed_run_say_so(
    whole: Whole, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copy(whole.folder / "busy.toml", tmp_path)
    run_killed(tmp_path, whole.words, Moment("commit", 40))
    monkeypatch.chdir(tmp_path)
    assert main(["page", "1"]) == 0
    text = Path("unlit-run-1.html").read_text()
    assert "interrupted: the process that played it ended before the run did" in text
    assert main(["export", "1", "run.csv", "run.vcd"]) == 0
    assert "run 1 was interrupted" in capsys.readouterr().out
    lines = Path("run.csv").read_text().splitlines()
    rows = len(book(tmp_path).read(1).signals([])[0])
    assert 0 < rows < len(whole.times)
    assert len([line for line in lines if line[:1].isdigit()]) == rows
