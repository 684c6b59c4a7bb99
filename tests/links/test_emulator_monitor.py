"""The emulator's control line: what is sent, what counts as an answer, what does not."""

from __future__ import annotations

import json
import socket
from contextlib import closing

import pytest

from harness.links.emulator_monitor import Monitor, MonitorError


@pytest.fixture
def ends():
    near, far = socket.socketpair()
    with closing(Monitor(near)) as monitor, far:
        yield monitor, far


def heard(far) -> list[dict]:
    return [json.loads(line) for line in far.recv(4096).splitlines()]


def test_commands_are_numbered_and_begin_with_the_handshake(ends):
    monitor, far = ends
    monitor.tell("stop", "cont")
    commands = [("qmp_capabilities", 1), ("stop", 2), ("cont", 3)]
    assert heard(far) == [{"execute": name, "id": number} for name, number in commands]


def test_only_the_answer_with_the_same_number_counts(ends):
    monitor, far = ends
    far.sendall(b'{"QMP": {}}\n{"return": {}, "id": 1}\n{"event": "STOP"}\n[]\nrn": {}}\n')
    far.sendall(b'{"return": {}, "id": 2}\n')
    monitor.ask("stop")
    assert [command["execute"] for command in heard(far)] == ["qmp_capabilities", "stop"]


@pytest.mark.parametrize(
    ("answer", "what"),
    [(b'{"error": {"class": "Generic"}, "id": 2}\n', "refused: .*Generic"), (b"", "the emulator has ended")],
)
def test_a_refusal_and_an_end_are_errors(ends, answer, what):
    monitor, far = ends
    far.sendall(answer)
    far.shutdown(socket.SHUT_WR)
    with pytest.raises(MonitorError, match=what):
        monitor.ask("stop")


def test_silence_is_an_error(ends, monkeypatch):
    monkeypatch.setattr("harness.links.emulator_monitor.ANSWER_S", 0.01)
    with pytest.raises(MonitorError, match="stop: timed out"):
        ends[0].ask("stop")


def test_an_emulator_that_is_gone_is_left_to_the_link(ends):
    monitor, far = ends
    far.close()
    monitor.tell("stop")
    with pytest.raises(MonitorError):
        monitor.ask("stop")


def test_answers_that_nobody_reads_are_thrown_away(ends):
    monitor, far = ends
    for _ in range(200):
        far.sendall(b"x" * 4096)
        monitor.tell("stop")
        far.recv(4096)
