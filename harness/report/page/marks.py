"""Events as marks: what disturbed, what the device said, what happened in the plant, what decided."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from harness.assertions.verdict import Outcome
from harness.bench.result import Event
from harness.report.figures import clock
from harness.report.page.played import PlayedRun
from harness.report.page.strip import BAR, Figure, Strip, Trace, area, marks, upright
from harness.report.plain import plain

#: Lane, its sources, its symbol, its colour.
LANES = (
    ("disturbances", ("disturbance",), "diamond", "caution"),
    ("device", ("device",), "triangle-up", "t1"),
    ("plant", ("plant",), "circle", "t3"),
    ("bench, link", ("bench", "link"), "x", "caution"),
)
MOST_MARKS, MOST_UPRIGHTS = 3000, 200
STARTS, ENDS = " starts", " ends"


def marks_strip(runs: Sequence[PlayedRun]) -> Strip:
    """The lanes of marks of all runs; of several runs only disturbances, messages and decisions."""
    traces: list[Trace] = []
    shapes: list[Figure] = []
    for run in runs:
        for lane in LANES if len(runs) == 1 else LANES[:2]:
            events = [event for event in run.result.events if event.source in lane[1]]
            if not events:
                continue
            if lane[0] == "disturbances":
                at = len(traces)
                for begin, end in disturbed(events, run.length_ms):
                    shapes.append(area(begin, end, at + BAR[0], at + BAR[1], "veil"))
            traces.append(_lane(_named(lane[0], run), events, lane[2], lane[3]))
        decided = list(_decided(run))
        if decided:
            traces.append(_lane(_named("decided", run), decided, "square", "ink"))
    strip = marks("Marks", traces)
    strip.shapes = shapes
    return strip


def _named(name: str, run: PlayedRun) -> str:
    return f"{run.letter} {name}" if run.letter else name


def _lane(name: str, events: Sequence[Event], symbol: str, tone: str) -> Trace:
    """The first `MOST_MARKS`: a device may say very much."""
    events = events[:MOST_MARKS]
    times = np.array([event.t_ms for event in events], np.int64)
    texts = tuple(f"{clock(event.t_ms)}  {plain(event.text)}" for event in events)
    return Trace(name, "", times, np.zeros(len(times)), tone=tone, texts=texts, symbol=symbol)


def _decided(run: PlayedRun) -> Iterator[Event]:
    found = [
        Event(judged.verdict.decided_ms, "", f"{judged.verdict.outcome}: {judged.verdict.title}")
        for judged in run.judged
        if judged.verdict.decided_ms is not None
    ]
    yield from sorted(found, key=lambda event: event.t_ms)


def disturbed(events: Sequence[Event], length_ms: int) -> list[tuple[int, int]]:
    """From when to when something disturbed; to the end of the run where no end is told. [ms]"""
    open_since: dict[str, list[int]] = {}
    spans = []
    for event in events:
        if event.text.endswith(STARTS):
            open_since.setdefault(event.text.removesuffix(STARTS), []).append(event.t_ms)
        elif event.text.endswith(ENDS) and open_since.get(event.text.removesuffix(ENDS)):
            spans.append((open_since[event.text.removesuffix(ENDS)].pop(0), event.t_ms))
    spans += [(since, length_ms) for sinces in open_since.values() for since in sinces]
    return sorted(spans)


def uprights(runs: Sequence[PlayedRun]) -> list[Figure]:
    """Through every strip: where a disturbance starts or ends, and where an assertion was broken."""
    found: dict[tuple[int, str], Figure] = {}
    for run in runs:
        for event in run.result.events:
            if event.source == "disturbance":
                found[(event.t_ms, "")] = upright(event.t_ms, "caution", dash="dot", width=1)
        for judged in run.judged:
            if judged.verdict.outcome is Outcome.BROKEN and judged.verdict.decided_ms is not None:
                moment = judged.verdict.decided_ms
                found[(moment, "!")] = upright(moment, "broken", width=1.6)
    return list(found.values())[:MOST_UPRIGHTS]
