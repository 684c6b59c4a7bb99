"""What becomes of a short run when its line or its device fails at a counted place: a table of all places."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

from harness.bench.result import RunResult, Status
from harness.bench.run import run_scenario
from harness.links import Link, open_link
from harness.links.hostile import BYTE_FAULTS, LINE_FAULTS, Fault, HostileLink, Way
from harness.scenario import Disturbance, Scenario, parse_scenario

#: Ten seconds in which the burner lights; the exchange that is struck is one with a fire.
SHORT = parse_scenario(
    """
title = "Ten seconds to a fire"
plant = "herms-gas"
length = "10 s"

[plant_setup]
liquor_start = "50 degC"
mash_start = "45 degC"

[panel]
mode = 1
mash_setpoint = "66 degC"
run = true

[[assertion]]
title = "a fire burns"
sometime = "flame"

[[assertion]]
title = "once lit, it never lights by itself again"
while = "after flame"
never = "rises(out.igniter)"
""",
    "short.toml",
)
STRUCK_MS = 8000


class Nowhere:
    """A logbook, and its writer, that keeps nothing: thousands of runs need no disk."""

    run_id = 0

    def begin(self, meta, names, units):
        return self

    def chunk(self, times, values) -> None:
        pass

    def event(self, event) -> None:
        pass

    def finish(self, result) -> None:
        pass

    def close(self) -> None:
        pass


class Armed(HostileLink):
    """A link on which a fault begins with the exchange at a time; it counts the bytes of that exchange."""

    def __init__(self, link: Link, t_ms: int, fault: Fault | None) -> None:
        super().__init__(link)
        self._trigger, self._fault = b"at %d " % t_ms, fault
        self._counts = False
        self.bytes = {way: 0 for way in Way}

    def write(self, data: bytes) -> None:
        if data.startswith(b"at "):
            self._counts = data.startswith(self._trigger)
            if self._counts and self._fault is not None:
                self.begin(self._fault)
                self._fault = None
        super().write(data)
        self.bytes[Way.TO_DEVICE] += self._counts * len(data)

    def read(self, timeout_s: float) -> bytes:
        data = super().read(timeout_s)
        self.bytes[Way.TO_BENCH] += self._counts * len(data)
        return data


class FromTheFirst(HostileLink):
    """A link on which a fault begins with the first byte, before the device has said who it is."""

    def __init__(self, link: Link, fault: Fault) -> None:
        super().__init__(link)
        self.begin(fault)


def play_from_the_first(device: str, fault: Fault) -> RunResult:
    """The short run with a fault from the first byte on."""

    def opening(text: str) -> Link:
        return FromTheFirst(open_link(text), fault)

    return run_scenario(SHORT, device, Nowhere(), opening=opening)  # type: ignore[arg-type]


def play(
    device: str, fault: Fault | None = None, scenario: Scenario = SHORT, at_ms: int = STRUCK_MS
) -> tuple[RunResult, Armed]:
    """The short run with a fault from the exchange at `at_ms` on, and the link it went over."""
    links: list[Armed] = []

    def opening(text: str) -> Link:
        links.append(Armed(open_link(text), at_ms, fault))
        return links[0]

    return run_scenario(scenario, device, Nowhere(), opening=opening), links[0]  # type: ignore[arg-type]


def byte_faults(clean: Armed, stride: int = 1) -> Iterator[Fault]:
    """Every fault at every byte of the exchange (or one byte in `stride`), once and lasting."""
    for what in BYTE_FAULTS:
        for way in Way:
            for first in range(0, clean.bytes[way], stride):
                lasting = (0,) if what == "unplugged" else (0, 1)
                yield from (Fault(what, way, first, every) for every in lasting)


def line_faults() -> Iterator[Fault]:
    """Every fault at the line of the exchange and the next one, once, lasting, and now and then."""
    for what in LINE_FAULTS:
        for way in Way if what != "late" else (Way.TO_BENCH,):
            for first in range(2):
                yield from (Fault(what, way, first, every, lines=True) for every in (0, 1, 2, 3))


def outcome(result: RunResult, clean: RunResult) -> str:
    """`recovered`, `inconclusive` (with the reason; a break stays a fail), or what must never happen."""
    same = result.status is clean.status and result.digest == clean.digest
    if result.reasons and all(result.reasons):
        if result.status is Status.INCONCLUSIVE or (same and result.status is Status.FAIL):
            return "inconclusive"
    elif same:
        return "recovered"
    return f"WRONG: {result.status}, {result.reasons}, {result.digest == clean.digest}"


Table = dict[str, Counter[str]]


def line_table(device: str, faults: Iterable[Fault]) -> Table:
    """How often each outcome came, by kind of fault, way and lasting."""
    clean, _ = play(device)
    rows: Table = {}
    for fault in faults:
        often = {0: "once", 1: "lasting"}.get(fault.every, f"one in {fault.every}")
        label = f"{'line' if fault.lines else 'byte'} {fault.what}, {fault.way.value}, {often}"
        result, _ = play(device, fault)
        rows.setdefault(label, Counter())[outcome(result, clean)] += 1
    return rows


def reset_table(device: str, every_ms: int = SHORT.exchange_every_ms) -> Table:
    """The device resets by itself at each exchange: before it hears the line, or before it has answered."""
    clean, _ = play(device)
    rows: Table = {}
    for way in Way:
        for at_ms in range(0, SHORT.length_ms, every_ms):
            result, _ = play(device, Fault("reset", way, lines=True), at_ms=at_ms)
            label = f"reset at an exchange, {way.value}"
            rows.setdefault(label, Counter())[outcome(result, clean)] += 1
    return rows


def cut_table(device: str, every_ms: int = SHORT.exchange_every_ms) -> Table:
    """A power cut at each exchange, for a moment and for a second: judged by the assertions."""
    rows: Table = {}
    for for_ms, label in ((None, "power cut for a moment"), (1000, "power cut for 1 s")):
        for at_ms in range(0, SHORT.length_ms, every_ms):
            result, _ = play(device, scenario=cut_at(at_ms, for_ms))
            judged = result.status in (Status.PASS, Status.FAIL) and not result.reasons
            word = str(result.status) if judged else f"WRONG: {result.status}, {result.reasons}"
            rows.setdefault(label, Counter())[word] += 1
    return rows


def cut_at(t_ms: int, for_ms: int | None = None) -> Scenario:
    """The short run with a power cut at `t_ms`."""
    return replace(SHORT, disturbances=(Disturbance("power-cut", at_ms=t_ms, for_ms=for_ms),))
