"""The moment that decided an assertion, zoomed: curves with limit and margin, lanes, the time it took."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from harness.assertions import Anatomy
from harness.report.page.gauge import gauge, gauge_name
from harness.report.page.limits import Limited, limited
from harness.report.page.played import Judged, PlayedRun, cut_out
from harness.report.page.strip import Strip, Trace, area, lanes, level, upright
from harness.report.page.thin import Window, thin
from harness.report.page.timing import Timing, timing_of
from harness.report.page.units import sign_of

BUCKETS = 1500
SHORTEST_MS, PAD = 2000.0, 0.3
HALF_WIDTHS_MS = (5e3, 10e3, 30e3, 60e3, 120e3, 300e3, 600e3, 1800e3)
#: A curve is shown over so long that it moves by this share of the way to its limit.
TELLING = 0.2
MOST_CODES = 3
_PLAIN = re.compile(r"\s*(at\s.*|(not\s+)?[\w.]+|(rises|falls)\(\s*(not\s+)?[\w.]+\s*\))\s*")


@dataclass(frozen=True)
class Moment:
    """What to draw, from when to when [ms], and whether every recorded row is in it."""

    window: Window
    strips: list[Strip]
    whole: bool


def moment(run: PlayedRun, judged: Judged) -> Moment | None:
    """The drawing of what decided one assertion; None where no moment did, or nothing tells it."""
    decided, parts = judged.verdict.decided_ms, judged.anatomy
    if decided is None or parts is None:
        return None
    timing = timing_of(judged)
    curves = limited(judged)
    end = run.length_ms if timing is None else max(float(run.length_ms), timing.due_ms + SHORTEST_MS / 4)
    window = _clipped(_window(judged, parts, timing, curves), end)
    strips = [_level(each, judged, window) for each in curves]
    strips += _codes(run, parts, window)
    strips += _logic(run, judged, parts, timing, window)
    for strip in strips:
        strip.shapes += _outside(parts, window, run.length_ms)
        strip.shapes.append(upright(decided, tone_of(judged), dash="dot"))
    rows = int(np.searchsorted(run.times, window[1]) - np.searchsorted(run.times, window[0]))
    return Moment(window, strips, rows <= BUCKETS)


def tone_of(judged: Judged) -> str:
    """The colour of an outcome."""
    return {"met": "met", "broken": "broken"}.get(str(judged.verdict.outcome), "caution")


def _window(judged: Judged, parts: Anatomy, timing: Timing | None, curves: list[Limited]) -> Window:
    verdict = judged.verdict
    decided = float(verdict.decided_ms or 0)
    if timing is not None:
        moments = (timing.since_ms, timing.due_ms, timing.came_ms, decided)
        return _padded(min(moments), max(moments))
    counted = parts.truths.get("count", ())
    if counted:
        return _padded(min(counted[0][0], decided), max(counted[-1][1], decided))
    if judged.spec is not None and (judged.spec.figure or "").startswith(("iae", "itae", "ramp")):
        spans = parts.scope or ((0.0, decided),)
        return _padded(min(spans[0][0], decided), decided)
    if not curves:
        return _padded(decided - HALF_WIDTHS_MS[0], decided + HALF_WIDTHS_MS[0])
    moves = {half: curves[0].course.moves(decided - half, decided + half) for half in HALF_WIDTHS_MS}
    wanted = min(TELLING * abs(verdict.margin or 0.0), 0.5 * max(moves.values()))
    half = next(half for half in HALF_WIDTHS_MS if moves[half] >= wanted)
    worst = curves[0].nearest(judged)
    last = decided if worst is None else max(decided, worst[0])
    return decided - max(half, PAD * (last - decided)), last + half


def _padded(low: float, high: float) -> Window:
    pad = max(PAD * (high - low), SHORTEST_MS)
    return low - pad, high + pad


def _clipped(window: Window, end_ms: float) -> Window:
    low, high = max(window[0], 0.0), min(window[1], float(end_ms))
    return (low, high) if high > low else (max(low - SHORTEST_MS, 0.0), low + SHORTEST_MS)


def _level(drawn: Limited, judged: Judged, window: Window) -> Strip:
    traces = []
    for at, course in enumerate(drawn.courses):
        times = np.rint(course.times).astype(np.int64)
        times, values = cut_out(times, course.values, window, held=False)
        # A course has two points a row, and more where it was cut.
        rows = thin(times, values, 2 * BUCKETS, held=False)
        look = {"bold": at == 0, "dash": "solid" if at == 0 else "dash", "tone": "t1" if at == 0 else "t6"}
        traces.append(Trace(course.text, course.unit, times[rows], values[rows], **look))  # type: ignore[arg-type]
    near = [limit for limit, _ in drawn.limits]
    strip = level(drawn.title, sign_of(drawn.courses[0].unit), traces, also=near, height=200)
    drawn.mark(strip, judged, window, tone_of(judged))
    return strip


def _codes(run: PlayedRun, parts: Anatomy, window: Window) -> Iterator[Strip]:
    """Numbers that an assertion asks for an exact value."""
    compared = {side.text for pair in parts.compared for side in pair} | {n.text for n in parts.numbers}
    names = [n for n in parts.signals if run.units[n] != "bool" and not any(n in text for text in compared)]
    for name in names[:MOST_CODES]:
        yield level(name, sign_of(run.units[name]), [run.trace(name, BUCKETS, window)], height=80)


def _logic(
    run: PlayedRun, judged: Judged, parts: Anatomy, timing: Timing | None, window: Window
) -> Iterator[Strip]:
    names = [name for name in parts.signals if run.units[name] == "bool"]
    traces = [run.trace(name, BUCKETS, window) for name in names]
    traces += _stated(judged, parts, window)
    if timing is not None:
        traces.insert(0, Trace(gauge_name(timing), "", np.empty(0, np.int64), np.empty(0), tone="ink"))
    if traces:
        strip = lanes("Logic", traces)
        if timing is not None:
            gauge(strip, timing, judged)
        yield strip


def _stated(judged: Judged, parts: Anatomy, window: Window) -> Iterator[Trace]:
    """A lane for each stated condition that no lane and no curve shows by itself."""
    for key, spans in parts.truths.items():
        text = None if judged.spec is None else judged.spec.value(key)
        if not isinstance(text, str) or _PLAIN.fullmatch(text) or len(text) > 60:
            continue
        if parts.compared and not re.search(r"\b(and|or|held)\b", text):
            continue
        edges = np.array([0.0, *(edge for span in spans for edge in span)])
        on = np.array([0.0, *([1.0, 0.0] * len(spans))])
        times, values = cut_out(np.rint(edges).astype(np.int64), on, window, held=True)
        if len(times):
            end = int(window[1])
            times, values = np.append(times, max(end, int(times[-1]))), np.append(values, values[-1])
        yield Trace(f"{key}: {text}", "bool", times, values, held=True, tone="t6")


def _outside(parts: Anatomy, window: Window, length_ms: int) -> Iterator[dict[str, object]]:
    """A veil over the times at which the assertion was not judged, and over those after the run."""
    at = window[0]
    for begin, end in parts.scope or ((0.0, float(length_ms)),):
        if begin > at and at < window[1]:
            yield area(at, min(begin, window[1]), 0.0, 1.0, "veil", yref="paper")
        at = max(at, end)
    if at < window[1]:
        yield area(at, window[1], 0.0, 1.0, "veil", yref="paper")
