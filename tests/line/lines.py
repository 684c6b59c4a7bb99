"""Strategies for messages, and the corpus as rows."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

from hypothesis import strategies as st

import harness.line
from harness.line.messages import (
    At,
    Back,
    Channel,
    End,
    Go,
    Got,
    Hi,
    In,
    Me,
    No,
    Now,
    Ok,
    Out,
    Put,
    Ready,
    Say,
    Side,
    Tell,
    Tick,
    Type,
)

UNITS = ["mdegC", "mdegF", "mohm", "uV", "bool", "permille", "count", "ms"]
UNITS += [f"adc{n}" for n in range(8, 25)]

times = st.integers(0, 2**32 - 1)
numbers = st.integers(-(2**31) + 1, 2**31 - 1)
values = st.none() | numbers
names = st.from_regex(r"[a-z][a-z0-9_]{0,23}", fullmatch=True)
titles = st.from_regex(r"[A-Za-z0-9_.][A-Za-z0-9_.\-]{0,23}", fullmatch=True)
texts = st.from_regex(r"[!-~]([ -~]{0,98}[!-~])?", fullmatch=True)
versions = st.integers(1, 99)
channels = st.builds(Channel, st.integers(1, 99), names, st.sampled_from(UNITS))


def value_lists(least: int = 0, most: int = 5):
    """Rising lists that fit a line at any value."""
    return st.dictionaries(st.integers(1, 99), values, min_size=least, max_size=most).map(
        lambda d: tuple(sorted(d.items()))
    )


bench_messages = st.one_of(
    st.builds(Hi, versions),
    st.builds(Go, times),
    st.builds(Back, times),
    st.builds(Put, value_lists(1)),
    st.builds(At, times, value_lists()),
    st.builds(Tick, times),
    st.builds(Type, texts),
    st.just(End()),
)
device_messages = st.one_of(
    st.builds(Me, versions, titles, titles),
    st.builds(In, channels),
    st.builds(Out, channels),
    st.just(Ready()),
    st.builds(Ok, times, value_lists()),
    st.builds(Got, st.integers(0, 99)),
    st.builds(Now, value_lists(1)),
    st.builds(Tell, names, values),
    st.builds(Say, texts),
    st.builds(No, texts),
)
# Noise that often looks like a line, so that it reaches every check.
noise = st.lists(
    st.one_of(
        st.binary(max_size=40),
        st.sampled_from([b"\n", b"\r", b"*", b"*29B1\n", b"at 1 1=2", b"ok 7", b"go 0*0BD0\n", b"x" * 121]),
    ),
    max_size=12,
).map(b"".join)


class Row(NamedTuple):
    """One row of the corpus; `shown` is the decoded form, empty unless the verdict is ok."""

    verdict: str
    sides: tuple[Side, ...]
    line: bytes
    shown: str


def _row(text: str) -> Row:
    verdict, side, line, *shown = text.split("\t")
    raw = re.sub(r"\\x([0-9A-F]{2})", lambda m: chr(int(m[1], 16)), line).encode("latin-1")
    sides = tuple(Side) if side == "both" else (Side(side),)
    return Row(verdict, sides, raw, "".join(shown))


def corpus() -> list[Row]:
    """The rows of harness/line/corpus.txt."""
    text = (Path(harness.line.__file__).parent / "corpus.txt").read_text("ascii")
    return [_row(row) for row in text.splitlines() if row and not row.startswith("#")]
