"""The short way gives what the full codec gives, or leaves the case to it."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from harness.line.codec import LINE_BYTES, Decoder, encode, frame
from harness.line.fast import AtWriter, OkReader
from harness.line.messages import At, Ok, Side
from tests.line.lines import noise, times, value_lists, values

INSERTS = [b"", b" ", b"0", b"-", b"+", b"_", b"=", b"\r", b"\n", b"\x00", b"\xc2\xb2", b" 99=1", b"x"]

numbers = st.lists(st.integers(1, 99), unique=True, max_size=12).map(sorted)


def full_values(t_ms: int, wanted, data: bytes):
    """The outputs by the full decoder: one `ok` of this time with just these channels, and nothing else."""
    decoder = Decoder(Side.DEVICE)
    events = decoder.feed(data)
    if len(events) != 1 or not isinstance(events[0], Ok) or not decoder.is_between_lines:
        return None
    ok = events[0]
    if ok.t_ms != t_ms or [n for n, _ in ok.values] != list(wanted) or encode(ok) != data:
        return None
    return tuple(value for _, value in ok.values)


@given(times, numbers, st.data())
def test_writer_equals_the_codec(t_ms, channels, data):
    readings = [data.draw(values) for _ in channels]
    line = AtWriter(channels).line(t_ms, readings)
    pairs = tuple(zip(channels, readings, strict=True))
    try:
        assert line == encode(At(t_ms, pairs))
    except ValueError:
        assert line is None


def test_writer_fills_the_line_to_its_last_byte():
    writer = AtWriter([1, 2, 3, 4, 5, 6, 7, 8])
    readings = [-2147483647] * 7 + [0]
    longest = writer.line(1, readings)
    assert longest is not None
    assert len(longest) <= LINE_BYTES + 1
    while (line := writer.line(1, readings)) is not None:
        longest, readings[7] = line, (readings[7] or 1) * 10
    assert len(longest) == LINE_BYTES + 1


@given(times, value_lists())
def test_reader_equals_the_codec_on_good_lines(t_ms, pairs):
    line = encode(Ok(t_ms, pairs))
    channels = [n for n, _ in pairs]
    reader = OkReader(channels)
    expected = tuple(value for _, value in pairs)
    assert reader.values(t_ms, line) == expected == full_values(t_ms, channels, line)
    assert reader.values(t_ms, line) == expected  # And again, from memory.
    assert reader.values((t_ms + 1) % 2**32, line) is None
    assert OkReader([*channels, 99] if channels[-1:] != [99] else []).values(t_ms, line) is None


@given(st.integers(0, 120), value_lists(1), st.data())
def test_reader_equals_the_codec_on_changed_lines(t_ms, pairs, data):
    """Bytes put in, taken out and replaced, with the check made good again or not."""
    body = bytearray(encode(Ok(t_ms, pairs))[:-6])
    place = data.draw(st.integers(0, len(body)))
    body[place : place + data.draw(st.integers(0, 3))] = data.draw(st.sampled_from(INSERTS))
    good = frame(bytes(body))
    channels = [n for n, _ in pairs]
    reader = OkReader(channels)
    reader.values(t_ms, encode(Ok(t_ms, pairs)))
    for line in (good, good[:-2] + b"\n", good + good, good[:-1], good.lower()):
        assert reader.values(t_ms, line) == full_values(t_ms, channels, line)


@given(st.integers(0, 9), noise)
def test_reader_equals_the_codec_on_noise(t_ms, data):
    for line in (data, data + b"\n", frame(b"ok %d" % t_ms + data)):
        assert OkReader([1]).values(t_ms, line) == full_values(t_ms, [1], line)


def test_a_remembered_part_does_not_pass_in_a_line_over_the_length():
    pairs = tuple((n, -1_000_000_000) for n in range(1, 8))
    reader = OkReader([n for n, _ in pairs])
    filler = frame(b"ok 1" + b"".join(b" %d=%d" % pair for pair in pairs))
    assert len(filler) <= LINE_BYTES + 1
    assert reader.values(1, filler) is not None
    long = frame(filler[:-6].replace(b"ok 1", b"ok 4294967295"))
    assert (len(long) > LINE_BYTES + 1) == (full_values(4294967295, range(1, 8), long) is None)
    assert reader.values(4294967295, long) == full_values(4294967295, range(1, 8), long)


def test_memory_of_the_reader_is_bounded():
    reader = OkReader([1])
    for n in range(10_000):
        assert reader.values(0, frame(b"ok 0 1=%d" % n)) == (n,)
    assert len(reader._known) <= 4096
