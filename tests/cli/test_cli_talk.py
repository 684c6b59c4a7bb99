"""A person types bodies; the check is added, the answer decoded."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

import harness.links
from harness.cli import main
from harness.cli.conversation import Conversation
from harness.line import frame


class Puppet:
    """A device that answers each line with the bytes it was given for it."""

    def __init__(self, answers: dict[bytes, bytes], greeting: bytes = b"") -> None:
        self.answers, self.waiting = answers, greeting
        self.heard: list[bytes] = []
        self.closed = False

    def write(self, data: bytes) -> None:
        self.heard.append(data)
        self.waiting += self.answers.get(data.rpartition(b"*")[0], b"")

    def read(self, timeout_s: float) -> bytes:
        data, self.waiting = self.waiting[:7], self.waiting[7:]  # never whole lines
        return data

    def close(self) -> None:
        self.closed = True


IDENTITY = b"".join(map(frame, (b"me 1 toy 0.1", b"in 1 tank mdegC", b"out 1 valve bool", b"ready")))


BODIES = (b"me 1 toy 0.1", b"out 1 valve bool", b"ok 5 1=x", b"now 1=1", b"tell a 1", b"no \x1b[m", b"ready")
LINES = [frame(body) for body in BODIES]


def talk(puppet: Puppet, *typed: str) -> str:
    shown = io.StringIO()
    Conversation(puppet, shown.write, answer_s=0.005).hold(typed, prompt=False)
    return shown.getvalue()


def test_a_body_is_framed_and_the_answer_shown_with_names() -> None:
    puppet = Puppet({b"hi 1": IDENTITY, b"go 0": frame(b"say hot") + frame(b"ok 0 1=1")})
    text = talk(puppet, "hi 1\n", "go 0\r\n")
    assert puppet.heard == [frame(b"hi 1"), frame(b"go 0")]
    assert text.splitlines() == [
        "> hi 1",
        "< me 1 toy 0.1",
        "< in 1 tank mdegC",
        "< out 1 valve bool",
        "< ready",
        "> go 0",
        "< say hot",
        "< ok 0 1=1    valve 1",
    ]


def test_damage_and_foreign_characters_are_shown_harmless() -> None:
    puppet = Puppet({b"tick 1": b"ok 1 \x1b[2J\xff*0000\n"}, greeting=b"boot \x07\n")
    assert talk(puppet, "tick 1\n").splitlines() == [
        r"< damaged (form): boot \x07",
        "> tick 1",
        r"< damaged (crc): ok 1 \x1b[2Jÿ*0000",
        "  (no answer)",
    ]


@given(st.lists(st.binary(max_size=40) | st.sampled_from(LINES), max_size=8).map(b"".join))
def test_whatever_a_device_says_is_shown_on_lines_that_steer_nothing(said: bytes) -> None:
    text = talk(Puppet({b"hi 1": said}), "hi 1\n")
    assert all(line.isprintable() for line in text.split("\n"))


def test_silence_is_told_and_quit_leaves() -> None:
    puppet = Puppet({})
    assert talk(puppet, "end\n", "\n", "/quit\n", "go 0\n").count("(no answer)") == 2
    assert puppet.heard == [frame(b"end")]


def test_what_cannot_be_sent_well_is_sent_as_typed() -> None:
    puppet = Puppet({})
    talk(puppet, "say é\udcff\n")
    assert puppet.heard == [frame(b"say \xc3\xa9\xff")]


def test_the_command_reads_lines_from_its_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    puppet = Puppet({b"hi 1": IDENTITY})
    monkeypatch.setattr(harness.links, "open_link", lambda text: puppet)
    monkeypatch.setattr("sys.stdin", io.StringIO("hi 1\n"))
    assert main(["talk", "toy"]) == 0
    assert "< ready" in capsys.readouterr().out
    assert puppet.closed
