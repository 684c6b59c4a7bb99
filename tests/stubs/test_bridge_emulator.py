"""The bridge's firmware in QEMU, over the `avr:` link: every register it writes, in order.

QEMU 7.2 has the chip's USART and 16-bit timer. Of ports and SPI it only traces what is written; they read as
0, so that the controller's outputs, on when low, are all on.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from harness.bench.run import run_scenario
from harness.line import frame
from harness.links import open_link
from harness.scenario import parse_scenario
from tests.stubs.bridge_builds import BRIDGE, build_bridge
from tests.whole.outcomes import Nowhere

#: Data sheet, Register Summary: the traced units and the registers in them that hold a signal.
NAMES = {
    ("timer16", "0"): "TCCR1A",
    ("timer16", "8"): "OCR1AL",
    ("timer16", "9"): "OCR1AH",
    ("atmega-gpio-b", "0x1"): "DDRB",
    ("atmega-gpio-b", "0x2"): "PORTB",
    ("atmega-gpio-c", "0x2"): "PORTC",
    ("atmega-gpio-d", "0x2"): "PORTD",
    ("avr-spi", "0x2"): "SPDR",
}
TRACED = re.compile(
    r"^(?:avr_timer16_write (timer16) write addr:(\d+) value:(\d+)"
    r"|([\w-]+): unimplemented device write \(size 1, offset (0x\w+), value (0x\w+)\))$",
    re.MULTILINE,
)


class Traced:
    """A bridge in the emulator, and the trace of its writes."""

    def __init__(self, elf: Path, trace: Path) -> None:
        self._trace = trace
        self.link = open_link(f"avr:{elf}")

    def say(self, body: bytes) -> list[bytes]:
        """The lines that come back, up to the answer."""
        self.link.write(frame(body))
        data = b""
        while not re.search(rb"(?m)^(ok|no|ready)[^\n]*\n\Z", data):
            more = self.link.read(10.0)
            assert more, data
            data += more
        return data.splitlines()

    def writes(self) -> list[tuple[str, int]]:
        """(register, value) of all signals so far, in order; the emulator must have ended."""
        found = []
        for timer, place, value, unit, offset, hexadecimal in TRACED.findall(self._trace.read_text()):
            name = NAMES.get((timer or unit, place or offset))
            if name:
                found.append((name, int(value or hexadecimal, 0)))
        return found


@pytest.fixture
def bridge(tmp_path, monkeypatch):
    """A bridge behind the link; the link starts the emulator that it finds first, which has the trace on."""
    trace, program = tmp_path / "trace", tmp_path / "bin" / "qemu-system-avr"
    program.parent.mkdir()
    options = f"-d unimp,trace:avr_timer16_write -D '{trace}'"
    program.write_text(f"#!/bin/sh\nexec {shutil.which(program.name)} \"$@\" {options}\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(program.parent), prepend=":")
    found = Traced(build_bridge(tmp_path), trace)
    yield found
    found.link.close()


def after(writes: list[tuple[str, int]], mark: tuple[str, int]) -> list[tuple[str, int]]:
    """What was written after the last `mark`."""
    return writes[len(writes) - writes[::-1].index(mark) :]


def test_every_register_that_a_stimulus_writes(bridge):
    bridge.say(b"hi 1")
    assert bridge.say(b"go 0")[-1].startswith(b"ok 0 1=1 2=1 3=1*")
    bridge.say(b"at 10 1=512 2=2087000 3=1250000 4=1 5=1")
    bridge.say(b"tick 20")
    bridge.link.close()
    stimulus = after(bridge.writes(), ("PORTB", 1))
    assert stimulus[0] == ("PORTB", 0)  # RESET let go
    assert stimulus[1:5] == [("OCR1AH", 0x08), ("OCR1AL", 0x01), ("TCCR1A", 0x82), ("DDRB", 0b10)]
    assert [value for name, value in stimulus if name == "SPDR"] == [0x11, 52, 0x11, 45]
    assert [value for name, value in stimulus if name == "PORTC"] == [0b01, 0b10]
    assert stimulus[-2:] == [("PORTD", 1 << 5), ("PORTD", 1 << 6)]


def test_each_word_is_written_under_its_own_select(bridge):
    bridge.say(b"go 0")
    bridge.say(b"at 10 2=2087000 3=1250000")
    bridge.say(b"tick 20")
    bridge.link.close()
    select_1, select_2 = ("PORTB", 1 << 2), ("PORTD", 1 << 7)
    stimulus = after(bridge.writes(), ("PORTB", 1))[1:]
    word = [("SPDR", 0x11), ("SPDR", 52), select_1, select_2]
    assert stimulus[:6] == [("PORTB", 0), *word, ("PORTC", 1)]
    assert stimulus[6:] == [("PORTD", 0), ("SPDR", 0x11), ("SPDR", 45), select_1, select_2, ("PORTC", 2)]


def test_the_end_opens_all(bridge):
    bridge.say(b"go 0")
    bridge.say(b"at 10 1=512 2=2087000 3=1250000 4=1 5=1")
    bridge.say(b"tick 20")
    bridge.say(b"end")
    bridge.say(b"end")
    bridge.link.close()
    assert bridge.writes()[-6:] == [
        *(("DDRB", 0), ("TCCR1A", 2)),
        *(("PORTC", 0), ("PORTC", 0)),
        *(("PORTD", 0), ("PORTD", 0)),
    ]


def test_the_bench_plays_the_readmes_scenario_with_it(tmp_path):
    """In wall pace; however late a busy machine is, the run is judged."""
    block = re.search(r"<!-- scenario -->\n```toml\n(.*?)```", (BRIDGE / "README.md").read_text(), re.DOTALL)
    text = block[1].replace('pace = "wall"', 'pace = "wall"\nlate_limit = "10 s"')
    result = run_scenario(parse_scenario(text, "bridge.toml"), f"avr:{build_bridge(tmp_path)}", Nowhere())
    assert (result.status.value, [verdict.outcome.value for verdict in result.verdicts]) == ("pass", ["met"])
