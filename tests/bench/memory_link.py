"""A device in this process, through the tests' own idea of a bad line."""

from __future__ import annotations

from harness.line import Channel, Decoder, Event, Identity, Say, Side, encode
from harness.line.conversation import DeviceSide
from harness.links import Link

CHANNELS = 24


def total(values) -> int:
    """A sum that stays a value; no reading counts as 0."""
    return sum(value or 0 for value in values) % 2**31


class Copier:
    """Copies input 1 to output 1 and the total of the others to output 2; counts its `at`s in output 3."""

    def __init__(self) -> None:
        inputs = tuple(Channel(n, f"in{n}", "count") for n in range(1, CHANNELS + 1))
        outputs = tuple(Channel(n, f"out{n}", "count") for n in range(1, 4))
        self.identity = Identity("copier", "1", inputs, outputs)
        self.remarks, self.turns, self.starts = [], 0, []

    def start(self, t_ms, new):
        self.turns = 0
        self.starts.append((t_ms, new))

    def step(self, t_ms, inputs, heard):
        self.turns += heard
        return [inputs[1], total([value for n, value in inputs.items() if n > 1]), self.turns]

    def console(self, text):
        self.remarks.append(Say(f"typed {text}"))
        return text == "known"


class MemoryLink(Link):
    """Answers at once. `to_device` and `to_bench` may change or swallow bytes on their way."""

    def __init__(self, to_device=None, to_bench=None) -> None:
        super().__init__("memory")
        self.firmware = Copier()
        self.power_up()
        self._to_device, self._to_bench = to_device, to_bench
        self.sent: list[bytes] = []
        self.unread = b""
        self.is_closed = False

    def power_up(self) -> None:
        self._side, self._decoder = DeviceSide(self.firmware), Decoder(Side.BENCH)

    def answer(self, event: Event) -> bytes:
        return b"".join(encode(line) for line in self._side.hear(event))

    def write(self, data: bytes) -> None:
        self.sent.append(data)
        if self._to_device:
            data = self._to_device(data)
        back = b"".join(self.answer(event) for event in self._decoder.feed(data))
        self.unread += self._to_bench(back) if self._to_bench else back

    def read(self, timeout_s: float) -> bytes:
        data, self.unread = self.unread, b""
        return data

    def restart(self) -> None:
        self.unread = b""
        self.power_up()

    def close(self) -> None:
        self.is_closed = True
