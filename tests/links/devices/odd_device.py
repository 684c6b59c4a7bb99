"""A device on standard input and output that keeps to the protocol, but for one habit.

    python odd_device.py HABIT (see `Habits`)

Its firmware copies input 1 to output 1, shows in output 2 whether the run is new, and counts its `at`s in
output 3.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[3]))

from harness.line import Channel, Decoder, Go, Hi, Identity, Ok, Put, Say, Side, Tell, encode, frame
from harness.line.conversation import DeviceSide


class Copier:
    """The firmware."""

    def __init__(self) -> None:
        inputs = (Channel(1, "probe", "mdegC"), Channel(2, "run", "bool"), *_spare_inputs())
        outputs = (Channel(1, "copy", "mdegC"), Channel(2, "fresh", "bool"), Channel(3, "turns", "count"))
        self.identity = Identity("odd", "1.0", inputs, outputs)
        self.remarks = []
        self.turns = self.new = 0

    def start(self, t_ms, new):
        self.turns, self.new = 0, int(new)

    def step(self, t_ms, inputs, heard):
        self.turns += heard
        return [inputs[1], self.new, self.turns]

    def console(self, text):
        self.remarks.append(Say(f"typed {text}"))
        return text == "known"


def _spare_inputs():
    return tuple(Channel(n, f"spare{n}", "count") for n in range(3, 25))


class Habits:
    """What goes out in place of the good answer `lines` to a message; the name is the habit."""

    def __init__(self) -> None:
        self.count = 0

    def good(self, message, lines):
        return lines

    def silent(self, message, lines):
        return []

    mute = silent  # Says nothing at power-up either.

    def stops(self, message, lines):
        return lines if isinstance(message, Hi) else []

    def slow(self, message, lines):
        time.sleep(0.06)
        return lines

    def echo(self, message, lines):
        return [encode(message)]

    def garbage(self, message, lines):
        return [b"\xf8\x80\xe6\x00" * 8 + b"\n"]

    def chatter(self, message, lines):
        return [b"temp: 21.5\r\n", *lines]

    def prints_only(self, message, lines):
        return [b"temp: 21.5\r\n"]

    def flood(self, message, lines):
        return lines if isinstance(message, Hi) else [encode(Tell("load", n)) for n in range(500)]

    def flood_noise(self, message, lines):
        return lines if isinstance(message, Hi) else [b"\x00" * 100_000]

    def flood_hello(self, message, lines):
        return [b"." * 100_000]

    def remarks(self, message, lines):
        return [encode(Tell("gain", -3)), encode(Say("so far")), *lines]

    def exits(self, message, lines):
        if isinstance(message, Go):
            print("first line", file=sys.stderr)
            print("out of \x1b[31mheap", file=sys.stderr)
            sys.exit(7)
        return lines

    def aborts(self, message, lines):
        if isinstance(message, Go):
            os.abort()
        return lines

    def shuts(self, message, lines):
        if isinstance(message, Go):
            os.close(1)
            os.close(0)
            time.sleep(60)
        return lines

    def no_always(self, message, lines):
        return lines if isinstance(message, Hi) else [frame(b"no form")]

    def no_once(self, message, lines):
        self.count += 1
        return lines if self.count % 2 else [frame(b"no crc")]

    def refuses(self, message, lines):
        return lines if isinstance(message, Hi) else [frame(b"no not running")]

    def bad_crc_often(self, message, lines):
        self.count += 1
        return lines if self.count % 3 else [b"x" + line for line in lines]

    def bad_crc_always(self, message, lines):
        return lines if isinstance(message, Hi) else [b"x" + line for line in lines]

    def lost_often(self, message, lines):
        self.count += 1
        return lines if self.count % 3 else []

    def deaf_list(self, message, lines):
        self.count += 1
        return lines if self.count > 1 else [*lines[:3], b"x" + lines[3], *lines[4:]]

    def half_list(self, message, lines):
        return lines[:5]

    def twice(self, message, lines):
        return lines if isinstance(message, Hi) else lines + lines

    def wrong_t(self, message, lines):
        return lines if isinstance(message, Hi) else [encode(Ok(999, ((1, 0), (2, 0), (3, 0))))]

    def few_outputs(self, message, lines):
        return lines if isinstance(message, Hi) else [encode(Ok(message.t_ms, ((1, 0), (3, 0))))]

    def got_few(self, message, lines):
        return [frame(b"got 0")] if isinstance(message, Put) else lines

    def many_channels(self, message, lines):
        more = [b"in %d more%d count" % (n, n) for n in range(25, 34)]
        return [*lines[:-4], *(frame(body) for body in more), *lines[-4:]]

    def new_protocol(self, message, lines):
        return [frame(b"me 2 odd 1.0"), *lines[1:]]

    def nuls(self, message, lines):
        return [b"\x00" * 40 + line for line in lines]

    def half_line(self, message, lines):
        return lines if isinstance(message, Hi) else [lines[-1][:7]]

    def boots(self, message, lines):
        self.count += 1
        return lines if self.count > 2 else [b"rst cause:2\r\n\xff\x00load 0x40\r\n"]


def memory_note():
    """Says how often it was powered, kept in its non-volatile memory."""
    memory = Path(os.environ["UNLIT_NV"])
    times = int(memory.read_text()) + 1 if memory.exists() else 1
    memory.write_text(str(times))
    os.write(1, encode(Say(f"power-up {times}")))


def main() -> None:
    habits, decoder, side = Habits(), Decoder(Side.BENCH), DeviceSide(Copier())
    answer = getattr(habits, sys.argv[1])
    if sys.argv[1] != "mute":
        memory_note()
    while data := os.read(0, 4096):
        for event in decoder.feed(data):
            lines = [encode(message) for message in side.hear(event)]
            out = b"".join(answer(event, lines))
            while out:
                out = out[os.write(1, out) :]


if __name__ == "__main__":
    main()
