"""The time line of a run that did not pass: what happened around the moments that decided it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from harness.assertions.verdict import Outcome
from harness.bench.result import Event, RunResult
from harness.report.figures import clock

BEFORE, AFTER = 5, 3
LAST_WORDS = 8
MOST_MOMENTS = 4


@dataclass(frozen=True)
class Line:
    """One line of the time line; `decided` marks a moment that decided an assertion."""

    words: tuple[str, str, str, str]
    decided: bool = False


def moments(result: RunResult) -> Iterator[Line]:
    """Events around each deciding moment, or the last ones where nothing points at a moment.

    The four words of a line are a mark, the bench time, the source and the text; `...` is a gap.
    """
    decided = sorted(
        (verdict.decided_ms, f"{verdict.outcome}: {verdict.title}")
        for verdict in result.verdicts
        if verdict.decided_ms is not None and verdict.outcome in (Outcome.BROKEN, Outcome.NOT_JUDGED)
    )[:MOST_MOMENTS]
    events = sorted(result.events, key=lambda event: event.t_ms)
    chosen = _around(events, [moment for moment, _ in decided])
    lines = [(events[at].t_ms, 0, at, _line(events[at])) for at in chosen]
    lines += [(t_ms, 1, -1, Line((">", clock(t_ms), "", text), True)) for t_ms, text in decided]
    lines.sort(key=lambda line: line[:3])
    yield from _with_gaps([(at, line) for _, _, at, line in lines], chosen)


def _around(events: Sequence[Event], decided: Sequence[int]) -> list[int]:
    """Positions of the events to show, rising."""
    if not decided:
        return list(range(len(events)))[-LAST_WORDS:]
    chosen: set[int] = set()
    for moment in decided:
        before = sum(event.t_ms <= moment for event in events)
        chosen.update(range(max(0, before - BEFORE), min(len(events), before + AFTER)))
    return sorted(chosen)


def _line(event: Event) -> Line:
    return Line(("", clock(event.t_ms), event.source, event.text))


def _with_gaps(lines: Sequence[tuple[int, Line]], chosen: Sequence[int]) -> Iterator[Line]:
    follows_gap = {after for before, after in pairwise(chosen) if after > before + 1}
    for at, line in lines:
        if at in follows_gap:
            yield Line(("", "...", "", ""))
        yield line
