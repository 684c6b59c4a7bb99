"""Who may say what when: the bench's and the device's side, each one table. No I/O, no clock.

A table maps (state, kind of message) to (next state, what it means). The bench's side says one line and
then waits for its answer; whatever else comes is a remark, stale (an answer to an earlier line, sent twice)
or damage, and leaves the state as it is. The device's side answers each line as it comes. `Device` in
harness/bench adds time and repeats; the tests play the two sides against each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum, auto
from typing import Any, Protocol

from harness.line.messages import (
    At,
    Back,
    BenchMessage,
    Channel,
    DeviceMessage,
    End,
    Event,
    Go,
    Got,
    Hi,
    Identity,
    In,
    LineError,
    Me,
    No,
    Now,
    Ok,
    Out,
    Put,
    Ready,
    Say,
    Tell,
    Tick,
    Type,
    Value,
)

PROTOCOL_VERSION = 1
CHANNELS = 32
TIME_SPAN = 2**32


class ConversationError(Exception):
    """The device's line, whole and undamaged, breaks the protocol; or the bench may not say its line now."""


# The bench's side


class Bench(Enum):
    """Where the bench's side stands; the last word says what it waits for."""

    STRANGE = "nothing known of the device"
    GREETING = "hi said, waiting for me"
    LISTING = "hi said, waiting for the rest of the list"
    IDLE = "device known, no run"
    STARTING = "go or back said, waiting for ok"
    RUNNING = "a run is on"
    PUTTING = "put said, waiting for got"
    ASKING = "at or tick said, waiting for ok"
    TYPING = "type said in a run, waiting for got"
    TYPING_IDLE = "type said without a run, waiting for got"
    ENDING = "end said, waiting for ok"


class Means(Enum):
    """What a line of the device means to the bench."""

    ANSWER = auto()  # the answer that was waited for, complete
    PART = auto()  # a line of the list that answers `hi`
    REMARK = auto()  # tell, say, now
    AGAIN = auto()  # the device did not understand: say it again
    REFUSED = auto()  # the device understood and will not
    DAMAGED = auto()
    STALE = auto()  # answers nothing that was asked last


_KNOWN = frozenset(Bench) - {Bench.STRANGE, Bench.GREETING, Bench.LISTING}
_WAITING = _KNOWN - {Bench.IDLE, Bench.RUNNING}

BENCH_SAYS: dict[tuple[Bench, type[Any]], Bench] = {
    **{(state, Hi): Bench.GREETING for state in Bench},
    **{(state, End): Bench.ENDING for state in _KNOWN},
    (Bench.IDLE, Go): Bench.STARTING,
    (Bench.IDLE, Back): Bench.STARTING,
    (Bench.RUNNING, Go): Bench.STARTING,
    (Bench.RUNNING, Back): Bench.STARTING,
    (Bench.RUNNING, Put): Bench.PUTTING,
    (Bench.RUNNING, At): Bench.ASKING,
    (Bench.RUNNING, Tick): Bench.ASKING,
    (Bench.RUNNING, Type): Bench.TYPING,
    (Bench.IDLE, Type): Bench.TYPING_IDLE,
}

BENCH_HEARS: dict[tuple[Bench, type[Any]], tuple[Bench, Means]] = {
    **{(state, kind): (state, Means.REMARK) for state in Bench for kind in (Tell, Say, Now)},
    **{(state, LineError): (state, Means.DAMAGED) for state in Bench},
    **{(state, No): (state, Means.REFUSED) for state in _WAITING},
    (Bench.GREETING, Me): (Bench.LISTING, Means.PART),
    # A board that resets in the middle of its list, or that took two `hi`, begins again.
    (Bench.LISTING, Me): (Bench.LISTING, Means.PART),
    (Bench.LISTING, In): (Bench.LISTING, Means.PART),
    (Bench.LISTING, Out): (Bench.LISTING, Means.PART),
    (Bench.LISTING, LineError): (Bench.GREETING, Means.AGAIN),
    (Bench.LISTING, Ready): (Bench.IDLE, Means.ANSWER),
    (Bench.STARTING, Ok): (Bench.RUNNING, Means.ANSWER),
    (Bench.PUTTING, Got): (Bench.RUNNING, Means.ANSWER),
    (Bench.ASKING, Ok): (Bench.RUNNING, Means.ANSWER),
    (Bench.TYPING, Got): (Bench.RUNNING, Means.ANSWER),
    (Bench.TYPING_IDLE, Got): (Bench.IDLE, Means.ANSWER),
    (Bench.ENDING, Ok): (Bench.IDLE, Means.ANSWER),
}

_NOT_UNDERSTOOD = frozenset({"crc", "long", "form"})


class BenchSide:
    """The bench's side of one conversation: what it said last, what it waits for, whom it speaks with."""

    def __init__(self) -> None:
        self.state = Bench.STRANGE
        self.asked: BenchMessage | None = None
        self.identity: Identity | None = None
        self._me = Me(PROTOCOL_VERSION, "", "")
        self._channels: dict[type[Any], list[Channel]] = {In: [], Out: []}

    def say(self, message: BenchMessage) -> None:
        """Go on to wait for the answer to `message`. Raises ConversationError if it may not be said now."""
        following = BENCH_SAYS.get((self.state, type(message)))
        if following is None:
            raise ConversationError(f"{message} may not be said now: {self.state.value}")
        self.state, self.asked = following, message

    def hear(self, event: Event) -> Means:
        """What a line of the device means. Raises ConversationError if the device breaks the protocol."""
        following, means = BENCH_HEARS.get((self.state, type(event)), (self.state, Means.STALE))
        if isinstance(event, Ok) and not self._is_of_this_time(event):
            return Means.STALE
        if isinstance(event, No) and means is Means.REFUSED and event.reason in _NOT_UNDERSTOOD:
            return Means.AGAIN
        if means is Means.PART:
            self._take_part(event)
        elif means is Means.ANSWER and isinstance(event, Ready):
            self._take_identity()
        self.state = following
        return means

    def _is_of_this_time(self, ok: Ok) -> bool:
        """`end` is answered with the last time; all else with the time that was asked for."""
        return not isinstance(self.asked, Go | Back | At | Tick) or self.asked.t_ms == ok.t_ms

    def _take_part(self, event: Event) -> None:
        if isinstance(event, Me):
            if event.protocol != PROTOCOL_VERSION:
                versions = f"{event.protocol}, this bench version {PROTOCOL_VERSION}"
                raise ConversationError(f"the device speaks protocol version {versions}")
            self._me = event
            self._channels = {In: [], Out: []}
        elif isinstance(event, In | Out):
            self._take_channel(self._channels[type(event)], event.channel, type(event).__name__.lower())

    @staticmethod
    def _take_channel(channels: list[Channel], channel: Channel, way: str) -> None:
        if channels and channel == channels[-1]:
            return  # A line that comes twice is the line's doing, not the device's.
        what = f"`{way} {channel.number} {channel.name}`"
        if channels and channel.number <= channels[-1].number:
            raise ConversationError(f"{what} comes after number {channels[-1].number}; numbers must rise")
        if any(channel.name == other.name for other in channels):
            raise ConversationError(f"{what} has the name of another `{way}`")
        if len(channels) == CHANNELS:
            raise ConversationError(f"{what} is one too many; at most {CHANNELS} `{way}` are allowed")
        channels.append(channel)

    def _take_identity(self) -> None:
        inputs, outputs = (tuple(self._channels[way]) for way in (In, Out))
        self.identity = Identity(self._me.name, self._me.version, inputs, outputs)


# The device's side


class Dut(Enum):
    """Where the device's side stands."""

    STOPPED = "no run: outputs off"
    RUNNING = "a run is on"


class Does(Enum):
    """What the device does with a line."""

    INTRODUCE = auto()  # list the channels
    START_NEW = auto()  # forget everything, non-volatile memory too
    START_AGAIN = auto()  # as from power-up
    STEP = auto()  # one turn at T
    KEEP = auto()  # keep the values for the next `at`
    CONSOLE = auto()
    STOP = auto()
    REFUSE = auto()  # `no not running`
    COMPLAIN = auto()  # `no crc`, `no long`, `no form`
    NOTHING = auto()


DEVICE_HEARS: dict[tuple[Dut, type[Any]], tuple[Dut, Does]] = {
    **{(state, Hi): (Dut.STOPPED, Does.INTRODUCE) for state in Dut},
    **{(state, Go): (Dut.RUNNING, Does.START_NEW) for state in Dut},
    **{(state, Back): (Dut.RUNNING, Does.START_AGAIN) for state in Dut},
    **{(state, End): (Dut.STOPPED, Does.STOP) for state in Dut},
    **{(state, Type): (state, Does.CONSOLE) for state in Dut},
    **{(state, LineError): (state, Does.COMPLAIN) for state in Dut},
    **{(state, No): (state, Does.NOTHING) for state in Dut},
    **{(Dut.STOPPED, kind): (Dut.STOPPED, Does.REFUSE) for kind in (At, Tick, Put)},
    (Dut.RUNNING, At): (Dut.RUNNING, Does.STEP),
    (Dut.RUNNING, Tick): (Dut.RUNNING, Does.STEP),
    (Dut.RUNNING, Put): (Dut.RUNNING, Does.KEEP),
}


class Firmware(Protocol):
    """What a device does behind the line.

    `remarks` are Tell and Say lines to be sent before the next answer; `step` gets all inputs by number, and
    whether they were just heard (`at`) or only time passed (`tick`).
    """

    identity: Identity
    remarks: list[DeviceMessage]

    def start(self, t_ms: int, new: bool) -> None: ...
    def step(self, t_ms: int, inputs: dict[int, Value], heard: bool) -> Sequence[Value]: ...
    def console(self, text: str) -> bool: ...


class DeviceSide:
    """The device's side of one conversation, around a firmware: a line in, its answer out."""

    def __init__(self, firmware: Firmware) -> None:
        self.state = Dut.STOPPED
        self._firmware = firmware
        self._t_ms = 0
        self._last: Event | None = None
        self._clear()

    def hear(self, event: Event) -> list[DeviceMessage]:
        """The lines that answer `event`, remarks first."""
        following, does = DEVICE_HEARS[self.state, type(event)]
        answer = self._repeated(event) or self._do(does, event)
        remarks, self._firmware.remarks = self._firmware.remarks, []
        if does is not Does.NOTHING and not isinstance(answer[-1], No):
            self.state, self._last = following, event
        return [*remarks, *answer]

    def _clear(self) -> None:
        identity = self._firmware.identity
        self._inputs: dict[int, Value] = {channel.number: None for channel in identity.inputs}
        self._put: dict[int, Value] = {}
        self._outputs: Sequence[Value] = [0] * len(identity.outputs)

    def _repeated(self, event: Event) -> list[DeviceMessage]:
        """The same answer once more, if `event` repeats the line before."""
        timed, last = (Go, Back, At, Tick), self._last
        if isinstance(event, At) and not dict(event.values).keys() <= self._inputs.keys():
            return []
        if isinstance(event, timed) and type(event) is type(last) and isinstance(last, timed):
            return [self._ok()] if event.t_ms == last.t_ms else []
        return []

    def _ok(self) -> Ok:
        channels = self._firmware.identity.outputs
        return Ok(self._t_ms, tuple((c.number, v) for c, v in zip(channels, self._outputs, strict=True)))

    def _do(self, does: Does, event: Event) -> list[DeviceMessage]:
        match event:
            case Go(t_ms) | Back(t_ms):
                self._t_ms = t_ms
                self._clear()
                self._firmware.start(t_ms, does is Does.START_NEW)
                return [self._ok()]
            case At() | Tick() | Put() if does is Does.REFUSE:
                return [No("not running")]
            case At() | Tick():
                return [self._step(event)]
            case Put(values):
                return [self._keep(dict(values)) or Got(len(values))]
            case Type(text):
                return [Got(int(self._firmware.console(text)))]
            case End():
                self._clear()
                return [self._ok()]
            case LineError(reason):
                return [No(reason)]
            case Hi():
                self._clear()
                return self._introduction()
        return []

    def _keep(self, values: dict[int, Value]) -> No | None:
        if not values.keys() <= self._inputs.keys():
            return No("channel")
        self._put |= values
        return None

    def _step(self, event: At | Tick) -> DeviceMessage:
        if (event.t_ms - self._t_ms) % TIME_SPAN >= TIME_SPAN // 2:
            return No("time")
        heard = isinstance(event, At)
        if isinstance(event, At):
            if refusal := self._keep(dict(event.values)):
                return refusal
            self._inputs |= self._put
            self._put = {}
        self._t_ms = event.t_ms
        self._outputs = self._firmware.step(event.t_ms, self._inputs, heard)
        return self._ok()

    def _introduction(self) -> list[DeviceMessage]:
        who = self._firmware.identity
        inputs, outputs = map(In, who.inputs), map(Out, who.outputs)
        return [Me(PROTOCOL_VERSION, who.name, who.version), *inputs, *outputs, Ready()]
