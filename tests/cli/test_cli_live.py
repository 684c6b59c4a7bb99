"""The keys of a live run, and what a person's stop comes to, without a run."""

from __future__ import annotations

import os
import signal
import sys
import termios
from collections.abc import Iterator
from pathlib import Path

import pytest
from rich.console import Console

from harness.bench.run import run_scenario
from harness.cli.keys import has_keys, single_keys
from harness.cli.live import Live, _Stop
from harness.scenario import parse_scenario
from tests.report.live.test_live_sheet import TEXT


class Process:
    """Notes what is asked of it."""

    exitcode = -signal.SIGKILL

    def __init__(self) -> None:
        self.asked: list[str] = []

    def terminate(self) -> None:
        self.asked.append("terminate")

    def kill(self) -> None:
        self.asked.append("kill")

    def join(self) -> None:
        pass


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """A terminal as standard input; what is written to the other end is pressed."""
    ours, theirs = os.openpty()
    with os.fdopen(theirs) as stdin:
        monkeypatch.setattr(sys, "stdin", stdin)
        yield ours
    os.close(ours)


def test_keys_come_one_by_one_and_the_terminal_is_given_back_as_it_was(terminal: int) -> None:
    before = termios.tcgetattr(sys.stdin)
    with single_keys() as pressed:
        assert pressed() == ""
        os.write(terminal, b"ms")
        assert pressed() == "ms"
    assert termios.tcgetattr(sys.stdin) == before


def test_ctrl_z_leaves_no_device_alone(terminal: int) -> None:
    with single_keys() as pressed:
        os.write(terminal, b"\x1as")
        assert pressed() == "\x1as"


def test_the_stop_key_works_after_a_shell_took_the_terminal_back(terminal: int) -> None:
    shells = termios.tcgetattr(sys.stdin)
    with single_keys() as pressed:
        termios.tcsetattr(sys.stdin, termios.TCSADRAIN, shells)
        os.kill(os.getpid(), signal.SIGCONT)
        os.write(terminal, b"s")
        assert pressed() == "s"


def test_without_a_standard_input_there_are_no_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", None)
    assert not has_keys()
    with single_keys() as pressed:
        assert pressed() == ""


def test_ctrl_c_ends_in_order_first_and_at_once_the_second_time() -> None:
    process = Process()
    stop = _Stop(process)
    with stop.hearing_ctrl_c():
        for _ in range(2):
            os.kill(os.getpid(), signal.SIGINT)
    assert process.asked == ["terminate", "kill"]


def test_a_run_that_a_person_ends_at_once_ends_the_session(tmp_path: Path) -> None:
    console = Console(force_terminal=True, _environ={"TERM": "xterm"})
    live = Live(run_scenario, None, tmp_path / "book.sqlite", console)
    stop = _Stop(Process())
    stop()
    outcome = live._died(parse_scenario(TEXT, "x.toml"), Process(), stop)
    assert not outcome.goes_on
    assert "stopped by a person" in outcome.told[0]
    assert live._died(parse_scenario(TEXT, "x.toml"), Process(), _Stop(Process())).goes_on
