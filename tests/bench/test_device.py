"""Device: the conversation with repeats, over a line that loses and damages what it is told to."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.bench.device import Device
from harness.errors import DeviceError, LinkError
from harness.line import LINE_BYTES, LineError, Ok, Say, Tell, encode
from tests.bench.memory_link import CHANNELS, MemoryLink, total
from tests.line.lines import numbers, values

ANSWER = encode(Say("so")) + encode(Ok(1, ((1, 5), (2, 0), (3, 1))))


def talk(link: MemoryLink) -> tuple[list, Device]:
    """A short run; what the device answered."""
    device = Device(link, hello_timeout_s=0.01)
    heard = [device.hello(), device.go(4_294_967_200)]
    device.put({2: 5, 3: -7, 24: 1})
    device.prepare([1, 4, 5])
    for t_ms in (4_294_967_290, 4, 104):
        device.send_at(t_ms, [t_ms % 1000, None, 3])
        heard.append(device.receive())
    heard.append(device.tick(204))
    device.end()
    return heard, device


def test_a_run_on_a_good_line():
    link = MemoryLink()
    heard, device = talk(link)
    assert heard[0] == link.firmware.identity == device.identity
    assert heard[1:] == [(0, 0, 0), (290, 2, 1), (4, 2, 2), (104, 2, 3), (104, 2, 3)]
    assert (device.repeats, device.damaged, device.stale) == (0, 0, 0)


class Fault:
    """Changes byte number `at` of all bytes that pass, once or from then on."""

    def __init__(self, at: int, change, once: bool = True) -> None:
        self.left, self.change, self.once, self.spent = at, change, once, False

    def __call__(self, data: bytes) -> bytes:
        place, self.left = self.left, self.left - len(data)
        if self.spent or place >= len(data) or (self.once and place < 0):
            return data
        self.spent = self.once
        place = max(place, 0)
        return data[:place] + self.change(data[place : place + 1]) + data[place + 1 :]


CHANGES = {
    "lost": lambda byte: b"",
    "flipped": lambda byte: bytes([byte[0] ^ 0x10]) if byte else b"",
    "joined by NUL": lambda byte: b"\x00" + byte,
    "cut in two": lambda byte: b"\n" + byte,
}


def lengths() -> tuple[int, int]:
    """Bytes to the device and to the bench in a run on a good line."""
    counts = [0, 0]

    def count(way):
        def pass_on(data):
            counts[way] += len(data)
            return data

        return pass_on

    talk(MemoryLink(count(0), count(1)))
    return counts[0], counts[1]


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
@pytest.mark.parametrize("way", ["to_device", "to_bench"])
def test_one_fault_at_any_byte_changes_no_answer(way, change):
    """The fault is put at each byte in turn, by counting, not by chance."""
    good, _ = talk(MemoryLink())
    for at in range(lengths()[way == "to_bench"]):
        heard, device = talk(MemoryLink(**{way: Fault(at, change)}))
        assert heard == good, f"byte {at}"
        assert device.repeats <= 2, f"byte {at}"


@pytest.mark.parametrize("way", ["to_device", "to_bench"])
def test_a_line_that_goes_dead_at_any_byte_is_a_link_error(way):
    for at in range(0, lengths()[way == "to_bench"], 3):
        fault = Fault(at, lambda byte: b"", once=False)
        cut = MemoryLink(**{way: lambda data, fault=fault: data if fault(data) == data else b""})
        with pytest.raises(LinkError, match=r"memory: .*[.?]$"):
            talk(cut)


@given(st.lists(values, min_size=CHANNELS, max_size=CHANNELS), st.integers(0, 2**32 - 1))
def test_any_number_of_inputs_arrives_however_long_the_lines(readings, t_ms):
    link = MemoryLink()
    device = Device(link)
    device.hello()
    device.go(t_ms)
    device.prepare(range(1, CHANNELS + 1))
    device.send_at(t_ms, readings)
    assert device.receive() == (readings[0], total(readings[1:]), 1)
    assert all(len(line) <= LINE_BYTES + 1 for line in link.sent)


@given(st.dictionaries(st.integers(1, CHANNELS), numbers, min_size=0))
def test_put_splits_its_values_over_lines(wanted):
    link = MemoryLink()
    device = Device(link)
    device.hello()
    device.go(0)
    device.put(wanted)
    device.send_at(1, [])
    outputs = device.receive()
    assert outputs[0] == wanted.get(1)
    assert outputs[1] == total(value for n, value in wanted.items() if n > 1)
    assert all(len(line) <= LINE_BYTES + 1 for line in link.sent)


def test_a_late_second_got_does_not_pass_for_the_next_one():
    """The first put's answer is late, so it is sent twice; then the second put is damaged."""
    link = MemoryLink()
    device = Device(link)
    device.hello()
    device.go(0)
    late, step = b"", 0

    def to_bench(data):
        nonlocal late, step
        step += 1
        if step == 1:
            late = data
            return b""
        return late + data if step == 2 else data

    link._to_bench = to_bench
    device.put({1: 8})
    link._to_device = Fault(1, CHANGES["lost"])
    device.put({1: 9})
    device.send_at(1, [])
    assert device.receive()[0] == 9
    assert (device.repeats, device.stale) == (2, 1)


def test_type_is_never_sent_twice():
    link = MemoryLink()
    device = Device(link)
    device.hello()
    assert device.type("known") is True
    assert device.type("other") is False
    link._to_bench = lambda data: b""
    with pytest.raises(LinkError, match="`type once` was sent 1 time and not answered"):
        device.type("once")
    assert sum(line.startswith(b"type once") for line in link.sent) == 1


def test_messages_reach_the_listener_in_order():
    heard = []
    link = MemoryLink()
    device = Device(link, heard.append)
    device.hello()
    device.go(0)
    link.unread = encode(Tell("gain", -3)) + b"print\n"
    device.type("known")
    assert heard == [Tell("gain", -3), LineError("form"), Say("typed known")]
    assert device.damaged == 1


def test_restart_asks_again_and_back_goes_on():
    link = MemoryLink()
    device = Device(link)
    device.hello()
    device.go(0)
    assert device.restart() == link.firmware.identity
    assert device.back(500) == (0, 0, 0)
    assert link.firmware.starts == [(0, True), (500, False)]


def test_a_list_that_loses_a_line_is_asked_for_again():
    """Once short, then whole and whole again: a channel cannot go missing unseen."""
    link = MemoryLink()
    lists = [b"in 5 in5 count", b"", b""]

    def to_bench(data):
        gone = lists.pop(0) if lists else b""
        return b"".join(line for line in data.splitlines(True) if not gone or not line.startswith(gone))

    link._to_bench = to_bench
    assert Device(link).hello() == link.firmware.identity
    assert lists == []


def test_a_list_that_never_comes_twice_is_refused():
    link = MemoryLink()
    lists = [b"in 5 ", b"in 6 ", b"in 7 ", b"in 8 "]

    def to_bench(data):
        gone = lists.pop(0)
        return b"".join(line for line in data.splitlines(True) if not line.startswith(gone))

    link._to_bench = to_bench
    with pytest.raises(DeviceError, match="its list of channels was another each of 4 times"):
        Device(link).hello()


def test_a_device_that_comes_back_as_another_is_refused():
    link = MemoryLink()
    device = Device(link)
    device.hello()
    link.firmware.identity = MemoryLink().firmware.identity.__class__("other", "1", (), ())
    with pytest.raises(DeviceError, match="came back from the power cut with other channels"):
        device.restart()


def test_close_has_the_outputs_off_and_closes_the_link():
    link = MemoryLink()
    device = Device(link)
    device.hello()
    device.go(0)
    device.close()
    assert link.sent[-1].startswith(b"end*")
    assert link.is_closed


def test_close_ends_a_run_that_broke_off_and_forgives_a_dead_line():
    link = MemoryLink()
    device = Device(link)
    device.hello()
    device.go(0)
    link._to_bench = lambda data: b""
    with pytest.raises(LinkError):
        device.tick(1)
    device.close()
    assert link.sent[-1].startswith(b"end*")
    assert link.is_closed


def test_close_says_nothing_where_there_is_no_run():
    link = MemoryLink()
    Device(link).close()
    assert link.sent == []
    assert link.is_closed


def test_use_out_of_order_is_said():
    device = Device(MemoryLink())
    with pytest.raises(DeviceError, match=r"has not said who it is\. Call hello\(\) first"):
        _ = device.identity
    device.hello()
    with pytest.raises(DeviceError, match="may not be said now"):
        device.send_at(0, [])


@pytest.mark.parametrize("wanted", [[2, 1], [1, 1], [0], [25]])
def test_prepare_refuses_what_cannot_be_sent(wanted):
    device = Device(MemoryLink())
    device.hello()
    with pytest.raises(ValueError, match="must rise and be inputs of the device"):
        device.prepare(wanted)


@pytest.mark.parametrize("cut", range(1, len(ANSWER)))
def test_an_answer_in_two_pieces_is_one_answer(cut):
    """The first read gives the first piece, the next read the rest."""
    link = MemoryLink()
    device = Device(link)
    device.hello()
    device.go(0)
    device.prepare([1])
    pieces = []
    link.read = lambda timeout_s: pieces.pop(0) if pieces else b""
    link.write = lambda data: pieces.extend([ANSWER[:cut], ANSWER[cut:]])
    device.send_at(1, [5])
    assert device.receive() == (5, 0, 1)
    assert device.repeats == 0
