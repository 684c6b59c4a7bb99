"""Which curve an assertion holds to which limit, and how that is drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from harness.assertions import Anatomy, Course
from harness.report.page.played import Judged, cut_out
from harness.report.page.strip import Floats, Label, Strip, area, line
from harness.report.page.thin import Window
from harness.report.page.units import figure_of, margin_of

CLOSE, TINY = 0.01, 1e-6
"""A distance is the margin if it differs by less than this share of it, or by this."""

LIMIT = "limit"
"""What a line is called that must not be passed; others are drawn softer."""


@dataclass(frozen=True)
class Curve:
    """A course to draw."""

    course: Course

    def moves(self, low_ms: float, high_ms: float) -> float:
        """How far its largest value in a window is from its smallest; 0 where it has none."""
        _, values = cut_out(self.course.times, self.course.values, (low_ms, high_ms), held=False)  # type: ignore[arg-type]
        known = values[np.isfinite(values)]
        return float(np.ptp(known)) if len(known) else 0.0

    def at(self, t_ms: float) -> tuple[float, float]:
        """What it comes up to at a moment, and its value from then on."""
        times, values = self.course.times, self.course.values
        before, after = np.searchsorted(times, t_ms, "left"), np.searchsorted(times, t_ms, "right")
        if before < after:
            return float(values[before]), float(values[after - 1])
        if after in (0, len(times)):
            end = float(values[0 if after == 0 else -1])
            return end, end
        share = (t_ms - times[after - 1]) / (times[after] - times[after - 1])
        between = float(values[after - 1] + share * (values[after] - values[after - 1]))
        return between, between


@dataclass(frozen=True)
class Limited:
    """Curves of one unit, the judged one first, and the fixed limits with what they are called."""

    title: str
    courses: tuple[Course, ...]
    limits: tuple[tuple[float, str], ...]
    margin: float | None
    decides: bool

    @property
    def course(self) -> Curve:
        """The judged one."""
        return Curve(self.courses[0])

    def mark(self, strip: Strip, judged: Judged, window: Window, tone: str) -> None:
        """Draw the limits, and the margin where the curve comes that near or goes that far."""
        unit = self.courses[0].unit
        for limit, name in self.limits:
            line_tone = "limit" if name == LIMIT else "soft"
            strip.shapes.append(line(window[0], window[1], limit, limit, line_tone, dash="dash", width=1.4))
            strip.labels.append(Label(f"{name} {figure_of(limit, unit)}", None, limit, line_tone))
        found = self.nearest(judged)
        if found is None or self.margin is None:
            return
        t_ms, value, bound = found
        if (bound, LIMIT) in self.limits and self.margin:
            beyond = strip.y[1] if (value < bound) == (self.margin > 0) else strip.y[0]
            strip.shapes.append(area(window[0], window[1], bound, beyond, "beyond"))
        strip.shapes.append(line(t_ms, t_ms, value, bound, tone, width=3.5))
        figure, sign = margin_of(self.margin, judged.verdict.margin_unit)
        side = "left" if t_ms > (window[0] + window[1]) / 2 else "right"
        strip.labels.append(Label(f"margin {figure} {sign}", t_ms, (value + bound) / 2, tone, side))

    def nearest(self, judged: Judged) -> tuple[float, float, float] | None:
        """Where the curve is as far from a bound as the margin says: the time [ms], its value, the bound.

        That is the moment that decided; after a break it is the worst that followed.
        """
        if not self.decides or self.margin is None:
            return None
        decided = float(judged.verdict.decided_ms or 0)
        found = self._fitting(np.full(2, decided), np.array(self.course.at(decided)))
        if found is not None and found[0] <= CLOSE * abs(self.margin) + TINY:
            return found[1:]
        course = self.courses[0]
        later = course.times >= decided
        other = self._fitting(course.times[later], course.values[later])
        options = [each for each in (found, other) if each is not None]
        return min(options)[1:] if options else None

    def miss(self, judged: Judged) -> float:
        """By how much its nearest distance differs from the margin; endless where it has none."""
        found = self.nearest(judged)
        return np.inf if found is None else abs(abs(found[1] - found[2]) - abs(self.margin or 0.0))

    def _fitting(self, times: Floats, values: Floats) -> tuple[float, float, float, float] | None:
        """By how much a distance to a bound is not the margin, and where: of these points the best one."""
        options = []
        for bound in self._bounds(times):
            misses = np.abs(np.abs(values - bound) - abs(self.margin or 0.0))
            if np.isfinite(misses).any():
                at = int(np.nanargmin(misses))
                options.append((float(misses[at]), float(times[at]), float(values[at]), float(bound[at])))
        return min(options) if options else None

    def _bounds(self, times: Floats) -> Iterator[Floats]:
        """The fixed bounds and the other curves, at these times."""
        for limit, name in self.limits:
            if name == LIMIT:
                yield np.full(len(times), limit)
        for course in self.courses[1:]:
            yield np.interp(times, course.times, course.values)


def limited(judged: Judged) -> list[Limited]:
    """What is drawn for an assertion: the comparison that decided first; empty where it compares nothing."""
    parts, verdict = judged.anatomy, judged.verdict
    if parts is None:
        return []
    if parts.numbers:
        return list(_of_figure(judged, parts))
    margin = verdict.margin if verdict.margin_unit not in ("s", "") else None
    drawn: dict[tuple[str, str], Limited] = {}
    for low, high in parts.compared:
        each = _of_comparison(low, high, margin)
        if each is not None:
            key = (each.title, each.courses[0].unit)
            # A band is two comparisons of one curve: drawn once, with both limits.
            drawn[key] = replace(each, limits=drawn[key].limits + each.limits) if key in drawn else each
    if margin is None:
        return [replace(each, decides=False) for each in drawn.values()][:2]
    nearest = sorted(drawn.values(), key=lambda each: each.miss(judged))
    return [replace(each, decides=at == 0) for at, each in enumerate(nearest[:3])]


def _of_comparison(low: Course, high: Course, margin: float | None) -> Limited | None:
    sides = [side for side in (low, high) if side.constant is None]
    fixed = [side for side in (low, high) if side.constant is not None]
    if not sides:
        return None
    limits = tuple((side.constant, LIMIT) for side in fixed if side.constant is not None)
    return Limited(" against ".join(side.text for side in sides), tuple(sides), limits, margin, True)


def _of_figure(judged: Judged, parts: Anatomy) -> Iterator[Limited]:
    """The signal of a figure of merit, its target, and the bound on how far it may be from that."""
    signal, *others = parts.numbers
    if signal.constant is not None:
        return
    named = (judged.spec.figure or "").partition("(")[0] if judged.spec is not None else ""
    target = others[0] if others else None
    fixed = None if target is None else target.constant
    limits: list[tuple[float, str]] = []
    reach = parts.bound or 0.0
    if named == "ramp":
        limits = [
            (each.constant, word) for each, word in zip(others, ("from", "to"), strict=False) if each.constant
        ]
    elif fixed is not None:
        limits = [(fixed, "target")]
        band = others[1].constant if named == "settling" and len(others) > 1 else None
        if band is not None:
            limits += [(fixed + band, "band"), (fixed - band, "band")]
        if named in ("overshoot", "worst_error"):
            limits.append((fixed + reach, LIMIT))
        if named in ("undershoot", "worst_error"):
            limits.append((fixed - reach, LIMIT))
    courses = (signal,) if fixed is not None or target is None or named == "ramp" else (signal, target)
    measured = named in ("overshoot", "undershoot", "worst_error") and fixed is not None
    margin = judged.verdict.margin if measured else None
    yield Limited(f"{named} of {signal.text}", courses, tuple(limits), margin, measured)
