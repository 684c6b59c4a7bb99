"""The device under test as the bench sees it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from harness.bench.asking import Asking
from harness.bench.clock import WALL, Clock
from harness.errors import DeviceError, LinkError
from harness.line import (
    At,
    Back,
    End,
    Event,
    Go,
    Got,
    Hi,
    Identity,
    Ok,
    Put,
    Tick,
    Type,
    Value,
    encode,
)
from harness.line.codec import LINE_BYTES
from harness.line.conversation import PROTOCOL_VERSION, Bench
from harness.line.fast import AtWriter, OkReader
from harness.links import Link

HELLOS = 10
INTRODUCTIONS = 4
PARTING_S = 0.5
# The longest word of a list, ` 99=-2147483647`, and what `put` needs beside its list.
_WORD_BYTES, _PUT_BYTES = 15, 8

Outputs = tuple[Value, ...]


def _ignore(message: Event) -> None:
    pass


class Device:
    """A device at the end of a link.

    All methods raise LinkError if the device is gone or does not answer, DeviceError if it answers, but not
    as the protocol says.

    Parameters
    ----------
    link : closed with the device.
    on_message : called with each tell, say, now and line error, in the order they came; may be set later.
    answer_timeout_s : how long one answer may take. [s]
    hello_timeout_s : how long a silent board may take to boot. [s]
    clock : what time-outs are measured by.
    """

    def __init__(
        self,
        link: Link,
        on_message: Callable[[Event], object] = _ignore,
        *,
        answer_timeout_s: float = 2.0,
        hello_timeout_s: float = 5.0,
        clock: Clock = WALL,
    ) -> None:
        self.link = link
        self.on_message = on_message
        self._hello_timeout_s = hello_timeout_s
        self._asking = Asking(link, lambda message: self.on_message(message), answer_timeout_s, clock)
        self._numbers: tuple[int, ...] = ()
        self._writer, self._reader = AtWriter(()), OkReader(())
        self._t_ms = 0
        self._line = b""

    @property
    def identity(self) -> Identity:
        """Who the device is. Raises DeviceError before `hello`."""
        identity = self._asking.side.identity
        if identity is None:
            raise DeviceError(f"{self.link.text}: the device has not said who it is. Call hello() first.")
        return identity

    @property
    def repeats(self) -> int:
        """Lines that were sent again."""
        return self._asking.repeats

    @property
    def damaged(self) -> int:
        """Lines of the device that came damaged."""
        return self._asking.damaged

    @property
    def stale(self) -> int:
        """Answers that came twice or too late, and were dropped."""
        return self._asking.stale

    def hello(self) -> Identity:
        """Ask the device who it is, till it has said the same twice; waits for a board that boots.

        A line of its list that is lost on the way would else go unseen, and with it a channel.
        """
        return self._introduced([])

    def _introduced(self, said: list[Identity]) -> Identity:
        """Who the device is, as soon as it says so for the second time; `said` is what counts as said."""
        for _ in range(INTRODUCTIONS):
            self._asking.greet(Hi(PROTOCOL_VERSION), self._hello_timeout_s, HELLOS)
            if self.identity in said:
                self._reader = OkReader([channel.number for channel in self.identity.outputs])
                return self.identity
            said.append(self.identity)
        self._asking.fails(
            f"its list of channels was another each of {INTRODUCTIONS} times. Do lines get lost on the way, "
            "or do its tables change?"
        )

    def go(self, t_ms: int) -> Outputs:
        """Start a run at `t_ms` as if the device were new; its outputs."""
        return self._outputs(self._asking.ask(Go(t_ms)))

    def back(self, t_ms: int) -> Outputs:
        """Go on with the run at `t_ms` as after a power cut; the device's outputs."""
        return self._outputs(self._asking.ask(Back(t_ms)))

    def tick(self, t_ms: int) -> Outputs:
        """Let the device's clock reach `t_ms` with nothing heard; its outputs."""
        return self._outputs(self._asking.ask(Tick(t_ms)))

    def put(self, values: Mapping[int, Value]) -> None:
        """Give inputs, by number, values that take effect with the next `at`."""
        for part in _parts(sorted(values.items())):
            self._put(part)

    def _put(self, part: Sequence[tuple[int, Value]]) -> None:
        answer = self._asking.ask(Put(tuple(part)))
        if answer != Got(len(part)):
            self._asking.fails(
                f"the device took another number of values: {answer} of {len(part)}. Mend its put."
            )

    def type(self, text: str) -> bool:
        """Type a line on the firmware's own console, once; False if it meant nothing there."""
        answer = self._asking.ask(Type(text), repeats=0)
        return isinstance(answer, Got) and answer.count > 0

    def end(self) -> Outputs:
        """End the run: the device takes all its outputs off; the outputs it then answers."""
        outputs = self._outputs(self._asking.ask(End()))
        # A late answer to the last `at` looks like one to `end`: asked again before the device is blamed.
        return self._outputs(self._asking.ask(End())) if any(outputs) else outputs

    def restart(self) -> Identity:
        """Cut the device's power and ask it who it is again; `back` then goes on with the run."""
        before = self.identity
        self.link.restart()
        self._asking.start_afresh()
        after = self._introduced([before])
        if after != before:
            self._asking.fails(
                "the device came back from the power cut with other channels. Mend its tables."
            )
        return after

    def close(self) -> None:
        """Have the outputs off if a run is on and the device still listens; then close the link."""
        try:
            if self._asking.side.state not in (Bench.STRANGE, Bench.GREETING, Bench.LISTING, Bench.IDLE):
                self.on_message = _ignore
                self._asking.timeout_s = min(self._asking.timeout_s, PARTING_S)
                self._asking.ask(End(), repeats=0)
        except (LinkError, DeviceError):
            pass  # It is let go; what was wrong with it has been said before.
        finally:
            self.link.close()

    # What it says unasked

    @property
    def has_answer(self) -> bool:
        """Within `receive`, whether the answer has come: what is heard then was said after it."""
        return self._asking.has_answer

    def listen_afresh(self) -> None:
        """Allow the device once more as many lines unasked as it may send before one answer."""
        self._asking.listen_afresh()

    def listen(self, timeout_s: float) -> None:
        """Hear what comes first within `timeout_s`, if anything; nothing may be asked meanwhile."""
        self._asking.listen(timeout_s)

    # The exchange

    def prepare(self, numbers: Sequence[int]) -> None:
        """Fix the inputs that each `at` carries, by number, rising. Raises ValueError."""
        known = {channel.number for channel in self.identity.inputs}
        if list(numbers) != sorted(known.intersection(numbers)):
            raise ValueError(
                f"numbers = {list(numbers)}: must rise and be inputs of the device, {sorted(known)}"
            )
        self._numbers = tuple(numbers)
        self._writer = AtWriter(self._numbers)

    def send_at(self, t_ms: int, values: Sequence[Value]) -> None:
        """Send the stimulus at `t_ms`: values in the order prepared, None for no reading.

        What does not fit the line goes ahead of it by `put`. `receive` must follow.
        """
        if self._asking.side.state is not Bench.RUNNING:
            self._asking.say(At(t_ms, ()))  # Says what is wrong.
        line = self._writer.line(t_ms, values)
        self._line = line if line is not None else self._put_ahead(t_ms, values)
        self._t_ms = t_ms
        self.link.write(self._line)

    def _put_ahead(self, t_ms: int, values: Sequence[Value]) -> bytes:
        first, *rest = _parts(list(zip(self._numbers, values, strict=True)), _PUT_BYTES + len("4294967295"))
        for part in rest:
            self._put(part)
        return encode(At(t_ms, tuple(first)))

    def receive(self) -> Outputs:
        """The outputs that answer `send_at`, in the identity's order."""
        data = self.link.read(self._asking.timeout_s)
        if self._asking.decoder.is_between_lines:
            outputs = self._reader.values(self._t_ms, data)
            if outputs is not None:
                return outputs
        self._asking.say(At(self._t_ms, ()))
        return self._outputs(self._asking.wait(self._line, data))

    def _outputs(self, answer: Event) -> Outputs:
        """The outputs of an `ok`, all of them."""
        channels = self.identity.outputs
        pairs = answer.values if isinstance(answer, Ok) else ()
        if [number for number, _ in pairs] != [channel.number for channel in channels]:
            wanted = " ".join(str(channel.number) for channel in channels) or "none"
            given = " ".join(str(number) for number, _ in pairs) or "none"
            self._asking.fails(
                f"its `ok` must list outputs {wanted} and lists {given}. Mend the firmware's answer."
            )
        return tuple(value for _, value in pairs)


def _parts(pairs: list[tuple[int, Value]], beside: int = _PUT_BYTES) -> Iterable[list[tuple[int, Value]]]:
    """The pairs in as few lists as surely fit a line that needs `beside` bytes for all else."""
    size = (LINE_BYTES - beside) // _WORD_BYTES
    return (pairs[start : start + size] for start in range(0, len(pairs), size))
