"""The codec: round trip, corpus, any bytes, every split."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.line.codec import EXCERPT_BYTES, LINE_BYTES, Decoder, crc, encode, frame
from harness.line.messages import At, Go, Got, LineError, Message, Put, Say, Side, Type
from tests.line.lines import bench_messages, corpus, device_messages, noise

ROWS = [(row, side) for row in corpus() for side in row.sides]
EVENTS = (Message | LineError).__args__
sides = st.sampled_from(Side)


def byte_by_byte(said_by: Side, data: bytes) -> list:
    decoder = Decoder(said_by)
    return [event for i in range(len(data)) for event in decoder.feed(data[i : i + 1])]


def test_crc_has_the_check_value_of_the_catalogue():
    """CRC-16/IBM-3740: check value 0x29B1 for "123456789" (Catalogue of parametrised CRC algorithms)."""
    assert crc(b"123456789") == 0x29B1


def test_frame_puts_the_check_in_upper_case_hex():
    assert frame(b"123456789") == b"123456789*29B1\n"


@given(bench_messages)
def test_bench_messages_come_back(message):
    assert Decoder(Side.BENCH).feed(encode(message)) == [message]


@given(device_messages)
def test_device_messages_come_back(message):
    assert Decoder(Side.DEVICE).feed(encode(message)) == [message]


@pytest.mark.parametrize(("row", "side"), ROWS, ids=lambda x: repr(x.line) if hasattr(x, "line") else x.value)
def test_corpus(row, side):
    events = Decoder(side).feed(row.line + b"\n")
    if row.verdict == "ok":
        assert [repr(event) for event in events] == [row.shown]
        assert encode(events[0]) == row.line.replace(b"\r", b"") + b"\n"
    else:
        assert events == ([] if row.verdict == "none" else [LineError(row.verdict)])


@pytest.mark.parametrize(("row", "side"), ROWS, ids=lambda x: repr(x.line) if hasattr(x, "line") else x.value)
def test_corpus_byte_by_byte_and_with_trailing_bytes(row, side):
    whole = Decoder(side).feed(row.line + b"\n")
    assert byte_by_byte(side, row.line + b"\n") == whole
    decoder = Decoder(side)
    assert decoder.feed(row.line + b"\n" + b"trailing") == whole
    assert decoder.feed(b"\n") == [LineError("form")]


@given(sides, noise)
def test_any_bytes_give_messages_or_the_line_error(side, data):
    decoder = Decoder(side)
    for event in decoder.feed(data) + decoder.feed(b"\n"):
        assert isinstance(event, EVENTS)
        if isinstance(event, LineError):
            assert event.reason in ("crc", "long", "form")
            assert len(event.excerpt) <= EXCERPT_BYTES
        else:
            assert encode(event).rstrip(b"\n") in data.replace(b"\r", b"")


@given(sides, st.lists(bench_messages | device_messages, max_size=4), noise, st.data())
def test_all_splits_are_equal(side, messages, junk, data):
    stream = b"".join(encode(message) for message in messages) + junk + b"\n"
    cut = data.draw(st.integers(0, len(stream)))
    decoder = Decoder(side)
    whole = Decoder(side).feed(stream)
    assert decoder.feed(stream[:cut]) + decoder.feed(stream[cut:]) == whole
    assert byte_by_byte(side, stream) == whole


@given(bench_messages | device_messages, st.data())
def test_a_single_changed_bit_never_gives_another_message(message, data):
    """A CRC of 16 bits finds every single-bit error; a changed LF or CR only joins or shortens lines."""
    line = bytearray(encode(message))
    bit = data.draw(st.integers(0, 8 * (len(line) - 1) - 1))
    line[bit // 8] ^= 1 << bit % 8
    for side in Side:
        assert all(isinstance(event, LineError) for event in Decoder(side).feed(bytes(line)))


def test_memory_is_bounded_by_one_line():
    decoder = Decoder(Side.DEVICE)
    for _ in range(1000):
        assert decoder.feed(b"x" * 1000) == []
    assert len(decoder._rest) == LINE_BYTES + 1
    assert decoder.feed(b"\nready*") == [LineError("long")]
    assert not decoder.is_between_lines
    decoder.feed(b"\n")
    assert decoder.is_between_lines


def test_line_error_keeps_the_first_bytes():
    (error,) = Decoder(Side.DEVICE).feed(b"\xfe\x00" * 60 + b"\n")
    assert error.excerpt == b"\xfe\x00" * 24


@pytest.mark.parametrize(
    "message",
    [
        Go(-1),
        Go(2**32),
        Got(100),
        Got(1.0),
        Put(()),
        Put(((2, 0), (1, 0))),
        At(0, ((1, 2**31),)),
        At(0, ((1, -(2**31)),)),
        At(0, tuple((n, 0) for n in range(1, 33))),
        Say("two\nlines"),
        Say(" led by a space"),
        Say("22 °C"),
        Type(""),
    ],
)
def test_encode_refuses_what_has_no_form(message):
    with pytest.raises(ValueError, match=r"has no form on the line, see PROTOCOL\.md"):
        encode(message)
