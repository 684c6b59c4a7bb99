"""The reference controller in Python behind somebody who meddles with its line.

    python meddler.py HABIT (see `Habits`)

Speaks the line protocol on standard input and output.
"""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "firmware_stubs" / "python"))

from reference import make_kit
from unlit_kit import crc_hqx

BEGINS_AT = 20
"""The exchange from which on a bad habit shows."""
NOW_AND_THEN = 37


def changed(line: bytes, old: bytes, new: bytes) -> bytes:
    """A line with another body and the check that fits it."""
    body = re.sub(old, new, line[:-6], count=1)
    return b"%s*%04X\n" % (body, crc_hqx(body, 0xFFFF))


def flipped(line: bytes) -> bytes:
    """A line with one bit wrong."""
    return line[:4] + bytes([line[4] ^ 1]) + line[5:]


class Habits:
    """What the bench hears in place of `answer`, the lines that answer `line`; the name is the habit."""

    def __init__(self) -> None:
        self.turns = 0
        self.lines = 0

    @property
    def late(self) -> bool:
        return self.turns >= BEGINS_AT

    @property
    def now(self) -> bool:
        return self.turns > 0 and self.lines % NOW_AND_THEN == 0

    def good(self, line, answer):
        return answer()

    # The line

    def damages_answers(self, line, answer):
        lines = answer()
        return [*lines[:-1], flipped(lines[-1])] if self.now else lines

    def damages_questions(self, line, answer):
        return [b"no crc*6A05\n"] if self.now else answer()

    def loses_answers(self, line, answer):
        lines = answer()
        return [] if self.now else lines

    def loses_questions(self, line, answer):
        return [] if self.now else answer()

    def repeats_answers(self, line, answer):
        lines = answer()
        return [*lines, lines[-1]] if self.now else lines

    def cut(self, line, answer):
        return [] if self.late else answer()

    # The firmware

    def own_pace(self, line, answer):
        return [b"now 1=0*1054\n", *answer()] if self.late else answer()

    def odd_words(self, line, answer):
        return [b"tell Gain 5*5372\n", *answer()] if self.late else answer()

    def mute(self, line, answer):
        return []

    def nuls(self, line, answer):
        return [b"\0" * 60]

    def garbage(self, line, answer):
        return [b"\xf8\x80\x1b[2J\xe6" * 5 + b"\n"] if self.late else answer()

    def floods(self, line, answer):
        return [b"load 1234\r\n"] * 5000 if self.late else answer()

    def exits(self, line, answer):
        if self.late:
            print("watchdog \x1b[31mreset", file=sys.stderr)
            sys.exit(7)
        return answer()

    def wrong_time(self, line, answer):
        lines = answer()
        return [*lines[:-1], changed(lines[-1], rb"^ok \d+", b"ok 999")] if self.late else lines

    def over_range(self, line, answer):
        lines = answer()
        return [*lines[:-1], changed(lines[-1], rb" 1=\d+", b" 1=2")] if self.late else lines

    def no_value(self, line, answer):
        lines = answer()
        return [*lines[:-1], changed(lines[-1], rb" 1=\d+", b" 1=x")] if self.late else lines

    def stays_on(self, line, answer):
        lines = answer()
        return [changed(lines[-1], rb" 1=0 2=0", b" 1=1 2=1")] if line.startswith(b"end") else lines

    def few_channels(self, line, answer):
        lines = answer()
        return (
            [changed(one, rb"^out 1 gas_valve", b"out 1 gas") for one in lines]
            if line[:2] == b"hi"
            else lines
        )

    def wrong_units(self, line, answer):
        lines = answer()
        return [changed(one, rb"^in 1 liquor mdegC", b"in 1 liquor uV") for one in lines]


def main() -> None:
    habits, sent = Habits(), bytearray()
    habit, kit = getattr(habits, sys.argv[1]), make_kit(sent.extend)
    waiting = b""
    while data := os.read(0, 4096):
        *lines, waiting = (waiting + data).split(b"\n")
        for line in filter(None, lines):
            habits.turns += line.startswith(b"at ")
            habits.lines += 1

            def answer(line: bytes = line) -> list[bytes]:
                kit.feed(line + b"\n")
                lines = bytes(sent).splitlines(keepends=True)
                sent.clear()
                return lines

            out = b"".join(habit(line, answer))
            while out:
                out = out[os.write(1, out) :]


if __name__ == "__main__":
    main()
