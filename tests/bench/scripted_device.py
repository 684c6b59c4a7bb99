"""A device and a clock that follow a script: time passes only where the bench waits or the script says so."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import AbstractContextManager, nullcontext
from heapq import heappop, heappush
from types import MappingProxyType

from harness.bench.clock import Clock
from harness.line import At, Back, Channel, Decoder, DeviceMessage, Go, Identity, Now, Put, Side, encode
from harness.line.conversation import DeviceSide
from harness.links import Link

MS = 1_000_000


class FakeClock(Clock):
    """`late_ms(t_ms)` is by how much it wakes us late from a sleep that ends at `t_ms` of its own time."""

    def __init__(self, late_ms: Callable[[float], float] = lambda t_ms: 0.0) -> None:
        self.ns = 0
        self._late_ms = late_ms

    def now_ns(self) -> int:
        return self.ns

    def pass_to(self, ns: int) -> None:
        self.ns = max(self.ns, ns)

    def ahead_of_others(self) -> AbstractContextManager[None]:
        return nullcontext()

    def sleep_until(self, deadline_ns: int) -> None:
        self.pass_to(deadline_ns + round(self._late_ms(deadline_ns / MS) * MS))


class Kettle:
    """Answers with the outputs as they stand; `relay` drives the electric kettle, `lamp` is only recorded."""

    def __init__(self) -> None:
        inputs = Channel(1, "kettle", "mdegC"), Channel(2, "run", "bool")
        outputs = Channel(1, "relay", "bool"), Channel(2, "lamp", "bool")
        self.identity = Identity("scripted", "1", inputs, outputs)
        self.remarks: list[DeviceMessage] = []
        self.outputs: list[int | None] = [0, 0]

    def start(self, t_ms: int, new: bool) -> None:
        self.outputs = [0, 0]

    def step(self, t_ms: int, inputs: dict[int, int | None], heard: bool) -> list[int | None]:
        return list(self.outputs)

    def console(self, text: str) -> bool:
        return True


class ScriptedLink(Link):
    """Answers after `answer_ms(t_ms)`, and says by itself what the script holds. Times count from `go`.

    Parameters
    ----------
    clock : shared with the bench.
    unasked : (time [ms], message), in any order; a `now` also changes the outputs as they stand.
    answer_ms : how long the answer takes to a line that is sent at so many ms.
    behind : by T, what comes in one piece with the answer to that `at`.
    restart_ms : how long a power cut takes.
    """

    def __init__(
        self,
        clock: FakeClock,
        unasked: Iterable[tuple[float, DeviceMessage]] = (),
        answer_ms: Callable[[float], float] = lambda t_ms: 0.0,
        behind: Mapping[int, DeviceMessage] = MappingProxyType({}),
        restart_ms: float = 0.0,
    ) -> None:
        super().__init__("scripted")
        self._clock, self._answer_ms, self._restart_ms = clock, answer_ms, restart_ms
        self._unasked = sorted(unasked, key=lambda one: one[0])
        self._behind = behind
        self.firmware = Kettle()
        self._side, self._decoder = DeviceSide(self.firmware), Decoder(Side.BENCH)
        self._coming: list[tuple[int, int, bytes]] = []
        self._count = 0
        self._origin_ns = 0
        self.sent: list[tuple[float, str]] = []

    @property
    def ats(self) -> list[tuple[float, int]]:
        """When each `at` was sent, and its T [ms]."""
        return [(t_ms, int(line.split()[1])) for t_ms, line in self.sent if line.startswith("at ")]

    def write(self, data: bytes) -> None:
        for event in self._decoder.feed(data):
            t_ms = (self._clock.ns - self._origin_ns) / MS
            self.sent.append((t_ms, data.decode().strip()[:-5]))
            self._stand(t_ms)
            lines = b"".join(encode(line) for line in self._side.hear(event))
            if isinstance(event, At) and event.t_ms in self._behind:
                lines += encode(self._behind[event.t_ms])
            runs = isinstance(event, At | Put | Back)
            self._comes(self._clock.ns + round(runs * self._answer_ms(t_ms) * MS), lines)
            if isinstance(event, Go):
                self._origin_ns = self._clock.ns
                for at_ms, message in self._unasked:
                    self._comes(self._origin_ns + round(at_ms * MS), encode(message))

    def _stand(self, t_ms: float) -> None:
        """Bring the outputs to where the `now` lines up to `t_ms` have them."""
        for at_ms, message in self._unasked:
            if at_ms <= t_ms and isinstance(message, Now):
                for number, value in message.values:
                    if number <= len(self.firmware.outputs):
                        self.firmware.outputs[number - 1] = value

    def _comes(self, ns: int, data: bytes) -> None:
        self._count += 1
        heappush(self._coming, (ns, self._count, data))

    def read(self, timeout_s: float) -> bytes:
        until = self._clock.ns + round(timeout_s * 1e9)
        if not self._coming or self._coming[0][0] > until:
            self._clock.pass_to(until)
            return b""
        self._clock.pass_to(self._coming[0][0])
        data = b""
        while self._coming and self._coming[0][0] <= self._clock.ns:
            data += heappop(self._coming)[2]
        return data

    def restart(self) -> None:
        self.sent.append(((self._clock.ns - self._origin_ns) / MS, "restart"))
        self._clock.pass_to(self._clock.ns + round(self._restart_ms * MS))
        self._coming = [one for one in self._coming if one[0] > self._clock.ns]
        self._side, self._decoder = DeviceSide(self.firmware), Decoder(Side.BENCH)

    def close(self) -> None:
        pass

