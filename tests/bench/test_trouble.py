"""What a person is told when a device does not answer well."""

from __future__ import annotations

import pytest

from harness.bench.trouble import Heard, no_hello
from harness.line.codec import frame


def told(*lines: bytes) -> str:
    heard = Heard(total=sum(map(len, lines)), lines=len(lines), parts=1)
    for line in lines:
        heard.damage(line)
    return no_hello(heard, b"hi 1*DE8B", 5.0)


@pytest.mark.parametrize("body", [b"in 1 Tank mdegC", b"in 1 tank degC", b"me 1 my controller 1.0", b"hello"])
def test_a_whole_line_that_is_no_message_is_named_with_the_rule(body):
    text = told(b"boot ok", frame(body)[:-1])
    assert text.startswith(f"its line '{frame(body)[:-1].decode()}' came undamaged")
    assert "Mend the firmware's tables" in text


@pytest.mark.parametrize("line", [b"in 1 Tank mdegC*0000", b"boot ok", b"*", b"x"])
def test_any_other_text_is_not_taken_for_the_protocol(line):
    assert told(line).startswith("it sends text, but not the line protocol")
