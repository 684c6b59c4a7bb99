"""The hostile link: what it does to bytes and lines, by hand tables and however the bytes are cut."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.errors import LinkError
from harness.line import Hi, Put, Tick, encode
from harness.links import Link
from harness.links.hostile import BYTE_FAULTS, LINE_FAULTS, Fault, HostileLink, Way

BENCH, DEVICE = Way.TO_BENCH, Way.TO_DEVICE
OK1, OK2, OK3 = b"ok 1*E0C5\n", b"ok 2*D0A6\n", b"ok 3*C087\n"


class Scripted(Link):
    """A device that answers each line with the next pieces of a script, one piece a read."""

    def __init__(self, answers=()) -> None:
        super().__init__("scripted")
        self.answers, self.pieces, self.heard = list(answers), [], []
        self.reads = self.restarts = 0
        self.is_closed = False

    def write(self, data: bytes) -> None:
        self.heard.append(data)
        for _ in range(data.count(b"\n")):
            self.pieces += self.answers.pop(0) if self.answers else []

    def read(self, timeout_s: float) -> bytes:
        self.reads += 1
        return self.pieces.pop(0) if self.pieces else b""

    def restart(self) -> None:
        self.restarts += 1
        self.pieces.clear()

    def close(self) -> None:
        self.is_closed = True


def asked(fault: Fault, count: int = 3) -> list[bytes]:
    """What comes back of three answers, a question and a read each."""
    link = HostileLink(Scripted([[OK1], [OK2], [OK3]]))
    link.begin(fault)
    got = []
    for t_ms in range(1, count + 1):
        link.write(encode(Tick(t_ms)))
        got.append(link.read(0.0))
    return got


@pytest.mark.parametrize(
    ("what", "first", "every", "got"),
    [
        ("lost", 0, 0, [b"", OK2, OK3]),
        ("lost", 1, 1, [OK1, b"", b""]),
        ("lost", 0, 2, [b"", OK2, b""]),
        ("repeated", 1, 0, [OK1, OK2 + OK2, OK3]),
        ("late", 0, 0, [b"", OK1 + OK2, OK3]),
        ("late", 0, 1, [b"", OK1, OK2]),
        ("flipped", 2, 0, [OK1, OK2, b"ok 3*C0\x287\n"]),
    ],
)
def test_what_becomes_of_answers(what, first, every, got):
    assert asked(Fault(what, BENCH, first, every, lines=True)) == got


@pytest.mark.parametrize(
    ("what", "got"),
    [
        ("lost", b"o 1*E0C5\n"),
        ("flipped", b"o\x7b 1*E0C5\n"),
        ("repeated", b"okk 1*E0C5\n"),
        ("split", b"o\nk 1*E0C5\n"),
        ("joined", b"o\x00k 1*E0C5\n"),
    ],
)
def test_what_becomes_of_a_byte(what, got):
    assert asked(Fault(what, BENCH, 1)) == [got, OK2, OK3]


def test_what_becomes_of_questions():
    inner = Scripted([[OK1]] * 9)
    link = HostileLink(inner)
    token = link.begin(Fault("lost", DEVICE, first=1, every=2, lines=True))
    lines = [encode(Tick(t_ms)) for t_ms in range(1, 6)]
    for line in lines:
        link.write(line)
    assert inner.heard == lines[::2]
    assert link.end(token) == 2


def test_a_read_does_not_wait_for_what_cannot_come():
    """Each read of the inner link may take a whole time-out: none is made when nothing is owed."""
    inner = Scripted([[OK1], [OK2]])
    link = HostileLink(inner)
    link.begin(Fault("lost", DEVICE, every=2, lines=True))
    link.write(encode(Tick(1)))
    assert (link.read(1e9), inner.reads) == (b"", 0)
    link.write(encode(Tick(1)))
    assert (link.read(1e9), inner.reads) == (OK1, 1)
    assert (link.read(1e9), inner.reads) == (b"", 1)


def test_an_answer_in_pieces_and_after_remarks_comes_whole():
    pieces = [b"tell a 1*0000\nme 1 a", b" 1*0000\nin", b" 1 a bool*0000\nready*00", b"00\n"]
    link = HostileLink(Scripted([list(pieces)]))
    link.begin(Fault("lost", DEVICE, first=99))
    link.write(encode(Hi(1)))
    assert link.read(1e9) == b"".join(pieces)


def test_a_silent_device_is_waited_for_and_given_up():
    inner = Scripted()
    link = HostileLink(inner)
    link.begin(Fault("lost", BENCH, first=99))
    link.write(encode(Tick(1)))
    assert (link.read(0.0), inner.reads) == (b"", 1)


def test_a_device_that_never_ends_its_line_does_not_fill_the_memory():
    inner = Scripted([[b"x" * 50_000] * 1000])
    link = HostileLink(inner)
    link.begin(Fault("lost", BENCH, first=99, lines=True))
    link.write(encode(Tick(1)))
    assert len(link.read(1e9)) <= 200_000
    assert inner.reads < 5


@pytest.mark.parametrize(("way", "got"), [(DEVICE, OK2), (BENCH, b"")])
def test_a_reset_comes_with_a_counted_line(way, got):
    inner = Scripted([[OK1], [OK2], [OK3]])
    link = HostileLink(inner)
    link.begin(Fault("reset", way, first=1, lines=True))
    link.write(encode(Tick(1)))
    assert (link.read(0.0), inner.restarts) == (OK1, 0)
    link.write(encode(Tick(2)))
    assert (link.read(0.0), inner.restarts) == (got, 1)


def test_faults_end_and_lost_lines_are_told():
    lost = []
    link = HostileLink(Scripted([[OK1], [OK2], [OK3]]))
    link.on_lost = lost.append
    token = link.begin(Fault("lost", BENCH, every=1, lines=True))
    link.write(encode(Tick(1)))
    assert link.read(0.0) == b""
    assert link.end(token) == 1
    link.write(encode(Tick(2)))
    assert link.read(0.0) == OK2
    assert lost == [OK1]


def test_a_byte_that_comes_late_keeps_the_rest_back_until_the_bench_asks_again():
    inner = Scripted([[OK1], [OK1]])
    link = HostileLink(inner)
    link.begin(Fault("late", BENCH, 3))
    link.write(encode(Tick(1)))
    assert (link.read(0.0), link.read(0.0)) == (OK1[:3], b"")
    link.write(encode(Tick(1)))
    assert link.read(0.0) == OK1[3:] + OK1


def test_a_line_that_stops_amid_its_way_to_the_device_goes_on_with_the_next():
    inner = Scripted([[], [OK1, OK1]])
    link = HostileLink(inner)
    link.begin(Fault("late", DEVICE, 4))
    asked = encode(Tick(1))
    link.write(asked)
    assert link.read(1e9) == b""
    link.write(asked)
    assert inner.heard == [asked[:4], asked[4:] + asked]
    assert link.read(0.0) == OK1 + OK1


@pytest.mark.parametrize("lines", [False, True])
def test_a_cable_pulled_on_the_way_to_the_device_is_a_port_that_is_gone(lines):
    link = HostileLink(Scripted([[OK1], [OK1]]))
    token = link.begin(Fault("unplugged", DEVICE, 1 if lines else len(encode(Tick(1))) + 2, lines=lines))
    link.write(encode(Tick(1)))
    assert link.read(0.0) == OK1
    for use in (lambda: link.write(encode(Tick(1))), lambda: link.read(0.0), lambda: link.write(b"hi\n")):
        with pytest.raises(LinkError, match="the port is gone"):
            use()
    assert link.inner.heard == [encode(Tick(1))] + [encode(Tick(1))[:2]] * (not lines)
    assert link.end(token) == 1


def test_a_cable_pulled_amid_an_answer_lets_its_beginning_through():
    link = HostileLink(Scripted([[OK1]]))
    link.begin(Fault("unplugged", BENCH, 4))
    link.write(encode(Tick(1)))
    assert link.read(0.0) == OK1[:4]
    with pytest.raises(LinkError, match="the port is gone"):
        link.read(0.0)


def test_restart_and_close_pass_on_and_forget_what_was_on_its_way():
    inner = Scripted([[OK1], [OK2]])
    link = HostileLink(inner)
    link.begin(Fault("late", BENCH, lines=True))
    link.write(encode(Tick(1)))
    assert link.read(0.0) == b""
    link.restart()
    link.write(encode(Tick(2)))
    assert (link.read(0.0), inner.restarts) == (OK2, 1)
    link.close()
    assert inner.is_closed


@pytest.mark.parametrize(
    ("what", "way", "lines", "first", "message"),
    [
        ("split", BENCH, True, 0, "what = 'split' to-bench: there are lost, flipped"),
        ("reset", BENCH, False, 0, "what = 'reset' to-bench: there are lost, flipped, repeated, split"),
        ("late", DEVICE, True, 0, "what = 'late' to-device: there are"),
        ("lost", DEVICE, True, -1, "first = -1, every = 0: must be 0 or more"),
    ],
)
def test_a_fault_that_cannot_be_is_refused(what, way, lines, first, message):
    with pytest.raises(ValueError, match=message):
        Fault(what, way, first, lines=lines)


COMPLETE = [what for what in LINE_FAULTS if what not in ("late", "reset")]
said = [OK1, b"\n", b"tell a 1*0000\n", encode(Put(((1, 2),))), b"half"]
talk = st.lists(st.sampled_from(said), max_size=12)


def faults_of(what, first, lines):
    first, every = st.integers(0, first), st.integers(0, 9)
    return st.builds(Fault, st.sampled_from(what), st.just(BENCH), first, every, st.just(lines))


some_fault = faults_of(sorted(BYTE_FAULTS), 60, False) | faults_of(COMPLETE, 6, True)


@given(talk, st.lists(some_fault, min_size=1, max_size=3), st.lists(st.integers(0, 200), max_size=6))
def test_where_the_bytes_are_cut_does_not_matter(lines, faults, cuts):
    """The same faults on the same bytes, whole and in pieces: the same bytes come out."""
    data = b"".join([*lines, OK2])
    ends = sorted({min(cut, len(data)) for cut in cuts} | {0, len(data)})
    came = []
    for pieces in ([data], [data[a:b] for a, b in pairwise(ends)]):
        link = HostileLink(Scripted([pieces]))
        for fault in faults:
            link.begin(fault)
        link._owed = 10**6  # Read on to the end of the script.
        link.write(b"\n")
        came.append(link.read(1e9))
    assert came[0] == came[1]


@given(talk)
def test_without_a_fault_bytes_pass_untouched(lines):
    inner = Scripted([[data] for data in lines])
    link = HostileLink(inner)
    for data in lines:
        link.write(b"q\n")
        assert link.read(0.0) == data
    assert inner.heard == [b"q\n"] * len(lines)
