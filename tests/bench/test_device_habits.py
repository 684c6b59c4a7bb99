"""Device over real links with devices of every bad habit: one clear message each, or no harm at all."""

from __future__ import annotations

import os
import sys
from contextlib import closing
from pathlib import Path

import pytest

from harness.bench.device import Device
from harness.errors import DeviceError, LinkError
from harness.line import LineError, Say, Tell
from harness.links import open_link

PROGRAM = Path(__file__).parents[1] / "links" / "devices" / "odd_device.py"
KINDS = ("run", "pty")
# Those that never say who they are, and those that do not answer, end by time; for others time is no matter.
NAMELESS = {"silent", "mute", "echo", "garbage", "prints_only", "nuls", "half_list"}
LATE = {"slow", "lost_often", "wrong_t", "half_line", "stops"}
HARMLESS = (
    "good", "slow", "chatter", "remarks", "no_once", "bad_crc_often", "lost_often", "deaf_list", "twice",
    "boots",
)  # fmt: skip


@pytest.fixture(autouse=True)
def short_waits(monkeypatch):
    monkeypatch.setattr("harness.bench.asking.AFTER_DAMAGE_S", 0.05)


def open_device(kind: str, habit: str, heard=None) -> Device:
    link = open_link(f"{kind}:{sys.executable} -S {PROGRAM} {habit}")
    if habit != "mute":  # It is up when it says so; then the short times below are long enough.
        link._ends._unread = link.read(20.0)
    return Device(
        link,
        [].append if heard is None else heard.append,
        answer_timeout_s=0.05 if habit in LATE else 20.0,
        hello_timeout_s=0.3 if habit in NAMELESS else 2.0 if habit == "boots" else 20.0,
    )


def play(device: Device) -> list:
    """A short run."""
    device.hello()
    answers = [device.go(1000)]
    device.put({2: 1})
    device.prepare([1])
    for t_ms in (1100, 1200, 1300):
        device.send_at(t_ms, [t_ms])
        answers.append(device.receive())
    answers.append(device.tick(1400))
    device.end()
    return answers


GOOD = [(0, 0, 0), (1100, 1, 1), (1200, 1, 2), (1300, 1, 3), (1300, 1, 3)]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("habit", HARMLESS)
def test_habits_that_do_no_harm(kind, habit):
    with closing(open_device(kind, habit)) as device:
        assert play(device) == GOOD


def test_the_counters_tell_what_it_took():
    with closing(open_device("run", "bad_crc_often")) as device:
        play(device)
        assert device.repeats == device.damaged > 0
    with closing(open_device("run", "good")) as device:
        play(device)
        assert (device.repeats, device.damaged, device.stale) == (0, 0, 0)


def test_remarks_and_prints_reach_the_listener():
    heard = []
    with closing(open_device("run", "remarks", heard)) as device:
        device.hello()
    said = [Tell("gain", -3), Say("so far")]  # Before each answer, and `hi` is asked twice.
    assert heard == [Say("power-up 1"), *said, *said]
    heard.clear()
    with closing(open_device("run", "chatter", heard)) as device:
        device.hello()
    assert heard[1:] == [LineError("form")] * 2
    assert heard[1].excerpt == b"temp: 21.5"


FATAL = [
    ("mute", LinkError, r"nothing came in 0\.3 s\. Is it the right port, is the board powered"),
    ("silent", LinkError, r"it speaks, but did not answer 'hi 1\*7DBF' in 0\.3 s\. Does its firmware feed"),
    ("echo", LinkError, r"it sends back what it is sent\. A console echoes, or TX is joined to RX"),
    ("garbage", LinkError, r"what comes is unreadable; first: '\\xf8.*Most often the baud rate is wrong"),
    ("prints_only", LinkError, r"it sends text, but not the line protocol; first: 'temp: 21\.5'\. Is"),
    ("nuls", LinkError, r"what comes is unreadable; first: '\\x00.*Most often the baud rate is wrong"),
    ("half_list", LinkError, r"its list of channels broke off and did not go on for 0\.3 s"),
    ("flood_hello", DeviceError, r"the device floods the line: over 65536 bytes came for"),
    ("flood", DeviceError, r"the device floods the line: over 64 lines or 16384 bytes came for one answer"),
    ("flood_noise", DeviceError, r"the device floods the line: over 64 lines or 16384 bytes"),
    ("exits", LinkError, r"ended with exit code 7\. Its last words: 'first line / out of \\x1b\[31mheap'"),
    ("aborts", LinkError, r"was ended by SIGABRT\. It said nothing on stderr"),
    ("no_always", LinkError, r"`go 1000` was sent 4 times and the device could not read it\. Check"),
    ("refuses", DeviceError, r"answered `go 1000` with `no not running`\. It restarted during the run"),
    ("bad_crc_always", LinkError, r"`go 1000` was sent 4 times and every answer came damaged; first: 'x"),
    ("wrong_t", LinkError, r"`go 1000` was sent 4 times and \d answers came that do not belong to it"),
    ("half_line", LinkError, r"`go 1000` was sent 4 times; \d+ bytes came, but no whole line\. Does"),
    ("stops", LinkError, r"`go 1000` was sent 4 times and not answered within 0\.05 s\. Has the"),
    ("few_outputs", DeviceError, r"its `ok` must list outputs 1 2 3 and lists 1 3\. Mend the firmware's"),
    ("got_few", DeviceError, r"the device took another number of values: Got\(count=0\) of 1"),
    ("many_channels", DeviceError, r"`in 33 more33` is one too many; at most 32 `in` are allowed\. Mend"),
    ("new_protocol", DeviceError, r"the device speaks protocol version 2, this bench version 1\. "),
]


# On a pseudo-terminal those whose bytes it could treat in its own way.
ON_TERMINALS_TOO = ("garbage", "nuls", "flood", "exits", "half_line")
FATAL_CASES = [("run", *case) for case in FATAL]
FATAL_CASES += [("pty", *case) for case in FATAL if case[0] in ON_TERMINALS_TOO]


@pytest.mark.parametrize(("kind", "habit", "error", "what"), FATAL_CASES)
def test_habits_that_end_the_run_with_one_message(kind, habit, error, what):
    with closing(open_device(kind, habit)) as device, pytest.raises(error, match=what) as caught:
        play(device)
    text = str(caught.value)
    assert text.startswith(device.link.text)
    assert text.isprintable()


def test_a_program_that_closes_its_line_and_goes_on(monkeypatch):
    monkeypatch.setattr("harness.links.child.END_GRACE_S", 0.05)
    with (
        closing(open_device("run", "shuts")) as device,
        pytest.raises(LinkError, match="closed its line but goes on running"),
    ):
        play(device)


def test_nothing_is_left_behind():
    before = sorted(os.listdir("/proc/self/fd"))
    for habit in ("good", "exits", "flood"):
        with closing(open_device("run", habit)) as device:
            try:
                play(device)
            except (LinkError, DeviceError):
                continue
    assert sorted(os.listdir("/proc/self/fd")) == before


def test_a_power_cut_keeps_the_non_volatile_memory():
    heard = []
    with closing(open_device("run", "good", heard)) as device:
        device.hello()
        device.go(0)
        device.restart()
        assert device.back(500) == (0, 0, 0)
        device.prepare([1])
        device.send_at(600, [7])
        assert device.receive() == (7, 0, 1)
    assert heard == [Say("power-up 1"), Say("power-up 2")]
