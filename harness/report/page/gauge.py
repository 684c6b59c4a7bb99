"""The time lane of a timed assertion: the allowed as an outline, the taken in it, and the margin."""

from __future__ import annotations

from harness.report.figures import number
from harness.report.page.played import Judged
from harness.report.page.strip import BAR, Label, Strip, area, line, upright
from harness.report.page.timing import FIRST, Timing
from harness.report.page.units import margin_of

TOP, BOTTOM = BAR
MIDDLE = (TOP + BOTTOM) / 2


def gauge(strip: Strip, timing: Timing, judged: Judged) -> None:
    """Draw it into the first lane of a strip, with the deadline through all of them."""
    since, due, came = timing.since_ms, timing.due_ms, timing.came_ms
    spare = (came >= due) if timing.at_least else (came <= due)
    tone = "met" if spare else "broken"
    strip.shapes += [
        area(since, min(came, due), TOP, BOTTOM, "taken"),
        area(min(came, due), max(came, due), TOP, BOTTOM, f"{tone}-fill"),
        area(since, due, TOP, BOTTOM, "none", line={"color": "@ink", "width": 1.2}, layer="above"),
        upright(due, "limit", dash="dash", width=1.4) | {"layer": "above"},
        line(came, came, TOP - 0.1, BOTTOM, tone, width=3),
    ]
    figure, unit = margin_of(judged.verdict.margin, "s")
    strip.labels.append(Label(f"margin {figure} {unit}", max(came, due), MIDDLE, tone))


def gauge_name(timing: Timing) -> str:
    """What the lane is called: `allowed 4 s`."""
    if timing.word == FIRST:
        return FIRST
    return f"{timing.word} {number((timing.due_ms - timing.since_ms) / 1000)} s"
