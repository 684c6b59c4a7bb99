"""One question at a time over a link: send, wait, send again, give up with a reason.

A line is sent again, three times at most, when its answer does not come in time, comes damaged, or says
that the line was not understood. After a damaged line the answer may still come (a firmware that prints on
the kit's port), so a moment is waited before the line is sent again.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NoReturn

from harness.bench import trouble
from harness.bench.clock import WALL, Clock
from harness.errors import DeviceError, LinkError
from harness.line import BenchMessage, Decoder, Event, LineError, No, Side, encode
from harness.line.conversation import BenchSide, ConversationError, Means
from harness.links import Link

REPEATS = 3
LINES_PER_ANSWER = 64
BYTES_PER_ANSWER = 16 * 1024
# A board that boots may print a screenful or two before it is asked anything.
BYTES_PER_HELLO = 64 * 1024
AFTER_DAMAGE_S = 0.25


class Asking:
    """The bench's side of the conversation on a link, with time, repeats and bounds."""

    def __init__(
        self, link: Link, hear: Callable[[Event], object], timeout_s: float, clock: Clock = WALL
    ) -> None:
        self.link, self.timeout_s, self._clock = link, timeout_s, clock
        self.hear_message = hear
        self.repeats = self.damaged = self.stale = 0
        self.start_afresh()

    def start_afresh(self) -> None:
        """Forget what is known of the device: it has lost its power."""
        self.decoder = Decoder(Side.DEVICE)
        self.side = BenchSide()
        self._begin()

    def _begin(self, lines: int = LINES_PER_ANSWER, most_bytes: int = BYTES_PER_ANSWER) -> None:
        self._heard = trouble.Heard()
        self._lines_left = self._most_lines = lines
        self._most_bytes = most_bytes
        self._answer: Event | None = None

    def fails(self, what: str) -> NoReturn:
        """Give up: the device does not keep to the protocol."""
        raise DeviceError(f"{self.link.text}: {what}")

    def say(self, message: BenchMessage) -> None:
        """Go on to wait for the answer to `message`, which is sent elsewhere."""
        try:
            self.side.say(message)
        except ConversationError as error:
            self.fails(f"{error}.")

    def ask(self, message: BenchMessage, repeats: int = REPEATS) -> Event:
        """The answer to a message."""
        line = encode(message)
        self.say(message)
        self.link.write(line)
        return self.wait(line, self.link.read(self.timeout_s), repeats)

    def wait(self, line: bytes, data: bytes, repeats: int = REPEATS) -> Event:
        """The answer to a line that has been sent; `data` is what came first, b"" if nothing came in time."""
        self._begin()
        for sending in range(repeats + 1):
            if sending:
                self.repeats += 1
                self.link.write(line)
                data = self.link.read(self.timeout_s)
            self._listen(data, self.timeout_s, AFTER_DAMAGE_S)
            if self._answer is not None:
                answer = self._answer
                self._settle(sending + 1)
                return answer
        trouble_seen = trouble.no_answer(self._heard, line, repeats + 1, self.timeout_s)
        raise LinkError(f"{self.link.text}: {trouble_seen}")

    def _settle(self, sendings: int) -> None:
        """Let the answers to all sendings come in: a late `got` or `no` could pass for the next."""
        while self._heard.answers < sendings and (data := self.link.read(self.timeout_s)):
            self._hear(data)

    def greet(self, message: BenchMessage, timeout_s: float, times: int) -> None:
        """Ask a device that may still be booting; what it prints meanwhile is bounded, not judged."""
        self._begin(BYTES_PER_HELLO, BYTES_PER_HELLO)
        line = encode(message)
        # The LF ends whatever half line the device may hold from before.
        for sent in (b"\n" + line, *[line] * (times - 1)):
            self.say(message)
            self.link.write(sent)
            pause_s = timeout_s / times
            self._listen(self.link.read(pause_s), pause_s, pause_s)
            if self._answer is not None:
                return
        raise LinkError(f"{self.link.text}: {trouble.no_hello(self._heard, line.rstrip(), timeout_s)}")

    @property
    def has_answer(self) -> bool:
        """Whether the answer to the line last waited on has come."""
        return self._answer is not None

    def listen_afresh(self) -> None:
        """From now on the device may say as much unasked as it may before one answer."""
        self._begin()

    def listen(self, timeout_s: float) -> None:
        """Hear what the device says unasked: what comes first within `timeout_s`."""
        if data := self.link.read(timeout_s):
            self._hear(data)

    def _now_s(self) -> float:
        return self._clock.now_ns() / 1e9

    def _listen(self, data: bytes, timeout_s: float, after_damage_s: float) -> None:
        """Hear until there is an answer, a reason to ask again, or silence."""
        deadline = self._now_s() + timeout_s
        while data:
            means = self._hear(data)
            now = self._now_s()
            if means is Means.ANSWER or means is Means.AGAIN:
                return
            if means is Means.PART:
                deadline = now + timeout_s
            elif means is Means.DAMAGED:
                deadline = min(deadline, now + after_damage_s)
            data = self.link.read(max(0.0, deadline - now))

    def _hear(self, data: bytes) -> Means | None:
        """Take a piece of the device's talk; the most decisive meaning in it."""
        self._heard.total += len(data)
        found: set[Means] = set()
        for event in self.decoder.feed(data):
            found.add(self._hear_event(event))
        if Means.ANSWER not in found and self._heard.total > self._most_bytes:
            self._floods()
        ranked = (Means.ANSWER, Means.AGAIN, Means.PART, Means.DAMAGED)
        return next((means for means in ranked if means in found), None)

    def _hear_event(self, event: Event) -> Means:
        try:
            means = self.side.hear(event)
        except ConversationError as error:
            self.fails(f"{error}. Mend the firmware's channel tables, or use the kit of this installation.")
        self._heard.lines += 1
        if isinstance(event, LineError):
            self.damaged += 1
            self._heard.damage(event.excerpt)
            self._heard.answers += 1
        if means is Means.ANSWER:
            self._answer = event
            self._heard.answers += 1
        elif means is Means.STALE:
            self.stale += 1
            self._heard.stale += 1
            self._heard.answers += 1
        elif isinstance(event, No):
            self._take_no(means, event)
        elif means is Means.PART:
            self._heard.parts += 1
        else:
            self._remark(event)
        return means

    def _take_no(self, means: Means, no: No) -> None:
        if means is Means.REFUSED:
            self.fails(trouble.refused(no.reason, encode(self.side.asked) if self.side.asked else b""))
        self._heard.not_understood += 1
        self._heard.answers += 1

    def _remark(self, event: Event) -> None:
        self._lines_left -= 1
        if self._lines_left < 0:
            self._floods()
        self.hear_message(event)

    def _floods(self) -> NoReturn:
        self.fails(trouble.floods(self._most_lines, self._most_bytes))
