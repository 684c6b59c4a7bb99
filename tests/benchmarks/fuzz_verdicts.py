"""What both codecs must make of the same bytes: one verdict a line, and no number out of range."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator

from harness.line import Decoder, Event, LineError, No, Side, encode
from tests.stubs.dialogue_app import INPUTS, OUTPUTS, DialogueApp
from tests.stubs.kit_builds import Kit, frame

VALUE_HIGH = 2**31 - 1
#: Least and most of each whole number in a message (harness/line/PROTOCOL.md); a text has none.
RANGES = {"t_ms": (0, 2**32 - 1), "count": (0, 99), "version": (1, 99), "protocol": (1, 99)}
OF_A_LINE = {frame(b"no " + reason): reason.decode() for reason in (b"crc", b"form", b"long")}


class Watched(DialogueApp):
    """The application of the dialogues, which also looks at every figure it is given."""

    def on_step(self, kit):
        inputs = [kit.input(place) for place in range(len(INPUTS))]
        assert all(value is None or abs(value) <= VALUE_HIGH for value in inputs), inputs
        assert 0 <= kit.millis() <= RANGES["t_ms"][1], kit.millis()
        super().on_step(kit)


def python_kit(answer: bytearray) -> Kit:
    """The Python kit at power-up; what it says is added to `answer`."""
    return Kit("dialogue 1.0", INPUTS, OUTPUTS, answer.extend, Watched())


class Codecs:
    """The Python kit at power-up, and the bench's decoder of either side's lines; bytes go to all of them."""

    def __init__(self, seed: int) -> None:
        self._answer = bytearray()
        self._kit = python_kit(self._answer)
        self._bench, self._device = Decoder(Side.BENCH), Decoder(Side.DEVICE)
        self._chance = random.Random(seed)
        self._unfinished = b""
        self.verdicts: Counter[str] = Counter()

    def feed(self, data: bytes) -> bytes:
        """The kit's answers to `data`. Raises AssertionError where a verdict or a number is wrong."""
        events = self._decoded(data)
        *lines, self._unfinished = (self._unfinished + data).split(b"\n")
        answers = bytearray()
        for line in lines:
            self._answer.clear()
            self._kit.feed(line + b"\n")
            answers += self._answer
            clean = line.replace(b"\r", b"")
            if clean:
                self.verdicts[verdict(clean, next(events), bytes(self._answer))] += 1
        assert next(events, None) is None
        for answer in Decoder(Side.DEVICE).feed(bytes(answers)):
            assert not isinstance(answer, LineError), answer
        return bytes(answers)

    def _decoded(self, data: bytes) -> Iterator[Event]:
        """What the bench's decoder makes of a bench's lines, in cuts of any size."""
        events: list[Event] = []
        place = 0
        while place < len(data):
            size = self._chance.randint(1, 4000)
            events += self._bench.feed(data[place : place + size])
            for event in self._device.feed(data[place : place + size]):
                assert in_range(event), event
            place += size
        return iter(events)


def verdict(line: bytes, event: Event, answer: bytes) -> str:
    """The one verdict of both on a line without CR and LF. Raises AssertionError."""
    if isinstance(event, LineError):
        assert OF_A_LINE.get(answer) == event.reason, (line, event, answer)
        return event.reason
    assert answer not in OF_A_LINE, (line, event, answer)
    assert (answer == b"") == isinstance(event, No), (line, event, answer)
    assert in_range(event), (line, event)
    assert encode(event) == line + b"\n", (line, event)
    return type(event).__name__


def in_range(event: Event) -> bool:
    """Whether each number of an event is one that the protocol allows."""
    fields = vars(event)
    pairs = fields.get("values", ())
    values = [value for _, value in pairs] + [fields.get("value")]
    channels = [number for number, _ in pairs]
    numbers = {name: fields[name] for name in RANGES if isinstance(fields.get(name), int)}
    return (
        all(RANGES[name][0] <= number <= RANGES[name][1] for name, number in numbers.items())
        and all(value is None or abs(value) <= VALUE_HIGH for value in values)
        and channels == sorted(set(channels) & set(range(1, 100)))
        and ("channel" not in fields or 1 <= fields["channel"].number <= 99)
    )
