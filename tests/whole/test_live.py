"""unlit run --live in a real pseudo-terminal: it draws, marks, stops, and ends as any run does."""

from __future__ import annotations

import os
import pty
import re
import select
import subprocess
import sys
from pathlib import Path

import pytest

from harness.logbook import Logbook

ROOT = Path(__file__).resolve().parents[2]
UNLIT = "import sys; from harness.cli import main; sys.exit(main())"
SCENARIO = """
title = "A tank under watch"
plant = "herms-gas"
length = "{length}"
exchange_every = "100 ms"
pace = "{pace}"
[panel]
run = true
mode = 0
liquor_setpoint = "60 degC"
[[assertion]]
title = "the liquor stays cool"
always = "liquor < 80 degC"
"""


class Terminal:
    """A command on a pseudo-terminal of 24 lines and 80 columns."""

    def __init__(self, folder: Path, *words: str, term: str = "xterm") -> None:
        self.ours, theirs = pty.openpty()
        env = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": term, "LINES": "24", "COLUMNS": "80"}
        self.process = subprocess.Popen(
            [sys.executable, "-c", UNLIT, *words], cwd=folder, env=env,
            stdin=theirs, stdout=theirs, stderr=theirs, close_fds=True, start_new_session=True,
        )  # fmt: skip
        os.close(theirs)
        self.seen = ""

    def until(self, wanted: str) -> None:
        """Read until `wanted` has been seen; TimeoutError names what came instead."""
        while not re.search(wanted, self.seen):
            if not self._read():
                raise TimeoutError(f"{wanted} never came; the last was {self.seen[-2000:]}")

    def _read(self) -> bool:
        if not select.select([self.ours], [], [], 60.0)[0]:
            return False
        try:
            more = os.read(self.ours, 65536)
        except OSError:  # the other end is closed
            return False
        self.seen += more.decode("utf-8", "replace")
        return bool(more)

    def press(self, key: str) -> None:
        os.write(self.ours, key.encode())

    def ended(self) -> int:
        while self._read():
            pass
        code = self.process.wait(60)
        os.close(self.ours)
        return code


def written(folder: Path, pace: str, length: str) -> str:
    (folder / "watched.toml").write_text(SCENARIO.format(pace=pace, length=length))
    return "watched.toml"


def test_a_run_is_shown_marked_and_stopped(tmp_path: Path) -> None:
    on = Terminal(tmp_path, "run", written(tmp_path, "wall", "10 min"), "--live")
    on.until("assertions  0 broken")
    on.press("m")
    on.until("marked by a person")
    on.press("s")
    assert on.ended() == 3
    assert "why: stopped by a person at" in on.seen
    record = Logbook(tmp_path / ".unlit" / "logbook.sqlite").read(1)
    assert record.summary.status == "inconclusive"
    assert "marked by a person" in [event.text for event in record.events if event.source == "bench"]


def test_a_run_that_is_over_leaves_its_verdicts_on_the_terminal(tmp_path: Path) -> None:
    on = Terminal(tmp_path, "run", written(tmp_path, "lockstep", "5 min"), "--live")
    assert on.ended() == 0
    after = re.sub(r"\x1b\[[0-9;]*m", "", on.seen.rpartition("\x1b[?1049l")[2])
    assert "the liquor stays cool" in after
    assert "1 run: 1 pass" in after


def test_a_device_that_is_not_there_is_told_as_ever(tmp_path: Path) -> None:
    device = ("--device", "run:no-such-program")
    on = Terminal(tmp_path, "run", written(tmp_path, "wall", "1 min"), "--live", *device)
    assert on.ended() == 3
    assert "no-such-program" in on.seen


def test_on_a_terminal_that_cannot_draw_over_it_is_refused(tmp_path: Path) -> None:
    on = Terminal(tmp_path, "run", written(tmp_path, "lockstep", "1 min"), "--live", term="dumb")
    assert on.ended() == 2
    assert "this terminal (TERM) only writes on" in on.seen


def test_without_a_terminal_it_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from harness.cli import main

    (tmp_path / "watched.toml").write_text(SCENARIO.format(pace="lockstep", length="1 min"))
    words = ["run", str(tmp_path / "watched.toml"), "--live", "--logbook", str(tmp_path / "book.sqlite")]
    assert main(words) == 2
    assert "--live draws on a terminal" in capsys.readouterr().err
