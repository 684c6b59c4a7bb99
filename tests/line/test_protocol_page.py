"""PROTOCOL.md and the codec say the same."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import harness.line
from harness.line.codec import LINE_BYTES, Decoder, frame
from harness.line.conversation import CHANNELS, PROTOCOL_VERSION
from harness.line.forms import CHANNEL_HIGH, FORMS, TEXT_CHARS, TIME_END, VALUE_HIGH, VALUE_LOW
from harness.line.messages import In, Side
from tests.line.lines import UNITS

PAGE = (Path(harness.line.__file__).parent / "PROTOCOL.md").read_text("utf-8")
TEXT = re.sub(r"\s+", " ", PAGE)


def verbs(heading: str) -> list[str]:
    """The first words of the table under a heading."""
    section = PAGE.split(f"## {heading}\n")[1].split("\n## ")[0]
    return re.findall(r"^\| `(\w+)", section, re.MULTILINE)


def test_the_tables_list_the_verbs_of_each_side():
    assert verbs("What the bench says") == [v for v, form in FORMS.items() if form.said_by == (Side.BENCH,)]
    assert verbs("What the device says") == [v for v, form in FORMS.items() if Side.DEVICE in form.said_by]


@pytest.mark.parametrize(
    "statement",
    [
        f"The line protocol, version {PROTOCOL_VERSION}",
        f"At most {LINE_BYTES} bytes",
        f"0 to {TIME_END - 1}",
        f"{VALUE_LOW} to {VALUE_HIGH}",
        f"1 to {CHANNEL_HIGH}",
        f"1 to {TEXT_CHARS} printable characters",
        f"at most {CHANNELS} inputs and {CHANNELS} outputs",
        "the body `123456789` gives `29B1`",
    ],
)
def test_the_figures_of_the_page_are_the_codecs(statement):
    assert statement in TEXT


def test_the_units_of_the_page_are_the_codecs():
    listed = set(re.findall(r"`(\w+)`", PAGE.split("Units:")[1].split("\n\n")[0]))
    assert listed - {"adcN", "adc10"} == {unit for unit in UNITS if not unit.startswith("adc")}
    for unit in UNITS:
        (event,) = Decoder(Side.DEVICE).feed(frame(b"in 1 a " + unit.encode()))
        assert isinstance(event, In)
