"""unlit page: the file it writes, and what it says when it cannot."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from harness.cli import main
from tests.report.page.small_run import record


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    record(here)
    record(here)
    return here


def run(*words: str) -> int:
    return main(["page", *words, "--logbook", "logbook.sqlite"])


def test_a_page_lies_in_this_folder(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("1") == 0
    assert capsys.readouterr().out.startswith("unlit-run-1.html: ")
    assert (here / "unlit-run-1.html").read_text("utf-8").startswith("<!DOCTYPE html>")


def test_several_runs_make_one_page_where_it_is_wanted(here: Path) -> None:
    assert run("2", "1", "--out", "pages/two.html") == 0
    text = (here / "pages" / "two.html").read_text("utf-8")
    assert text.index("run 2, board 1.2") < text.index("run 1, board 1.2")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "no run is named"),
        (("1", "1"), "named twice"),
        (("1", "2", "3", "4", "5", "6", "7"), "7 runs are too many"),
        (("9",), "there is no run 9"),
        (("9" * 18,), "there is no run 9"),
        (("9" * 30,), "is no whole number"),
        (("1.5",), '"1.5" is no whole number'),
        (("1", "--out", "logbook.sqlite/page.html"), "Name a file that can be written"),
        (("1", "--out", "../here/logbook.sqlite"), "what the logbook holds is needed"),
        (("1", "--out", "/dev/full"), "Make room on the disk"),
    ],
)
def test_wrong_use_is_told(
    here: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    assert run(*words) == 2
    assert said in capsys.readouterr().err
    assert not list(here.glob("*.html"))


def test_a_page_that_cannot_be_written_whole_leaves_the_old_one(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "kept.html").write_text("the page of yesterday")

    def full(path: Path, text: str, **_: object) -> int:
        path.write_bytes(text[:100].encode())
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    assert run("1", "--out", "kept.html") == 2
    assert "Make room on the disk" in capsys.readouterr().err
    assert (here / "kept.html").read_bytes() == b"the page of yesterday"
    assert not list(here.glob(".*"))


COMMAND = (sys.executable, "-c", "import sys; from harness.cli import main; sys.exit(main())")
ENV = {**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])}


def test_a_page_can_go_into_a_pipe(here: Path) -> None:
    words = ("page", "1", "--logbook", "logbook.sqlite", "--out", "/dev/stdout")
    piped = subprocess.run([*COMMAND, *words], capture_output=True, env=ENV, check=True)
    assert piped.stdout.startswith(b"<!DOCTYPE html>")
    assert piped.stdout.endswith(b"</html>")


@pytest.mark.parametrize(
    "words", [("page", "1", "--out", "/dev/stdout"), ("run", "no-light", "--json", "/dev/stdout")]
)
def test_a_reader_that_goes_away_is_no_wrong_use(here: Path, words: tuple[str, ...]) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [*COMMAND, *words, "--logbook", "logbook.sqlite"], stdout=writer, stderr=subprocess.PIPE, env=ENV
    )
    os.close(writer)
    assert (done.returncode, done.stderr) == (3, b"")
