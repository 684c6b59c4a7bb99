"""How far several runs at once have come: one line, where a person watches, that leaves nothing behind."""

from __future__ import annotations

import io

import pytest

from harness.report import progress
from harness.report.console import console
from harness.report.progress import SessionProgress


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch) -> _Terminal:
    monkeypatch.setenv("TERM", "xterm")
    return _Terminal()


def test_it_draws_one_line_and_takes_it_away(screen: _Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "PATIENCE_S", 0.0)
    line = SessionProgress(console(screen, width=100), 84, 6_000_000)
    for played in (11, 12):
        line.show(played, 600_000)
        assert f"{played} of 84 scenarios  10:00.0 / 100:00.0" in screen.getvalue()
        line.clear()
        line.clear()
        assert screen.getvalue().endswith("\r\x1b[1A\x1b[2K")


def test_a_short_session_shows_nothing(screen: _Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "PATIENCE_S", 1e9)
    line = SessionProgress(console(screen), 3, 9)
    line.show(1, 5)
    line.clear()
    assert screen.getvalue() == ""


def test_nothing_is_shown_where_nobody_watches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "PATIENCE_S", 0.0)
    file = io.StringIO()
    SessionProgress(console(file), 3, 9).show(1, 5)
    assert file.getvalue() == ""
