"""From the text of a figure of merit, and of its bound, to what works it out."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from .build import Builder
from .conditions import Condition, Less, Not
from .kinds import COUNT, Kind, kind_of, per_second, product
from .names import Names
from .numbers import Absolute, Linear, Literal, Number, Pair
from .refusal import ExpressionError, near
from .spec import AssertionSpec
from .tally import Bound, Figure
from .tally_conditions import Absent, Count, Longest, Shortest
from .tally_numbers import Integral, Peak, Ramp, Settling
from .tree import Node

SECONDS = kind_of("s")

Limit = Callable[[Kind], Bound]
"""Makes the bound, once it is known what kind of figure it bounds."""

# What each figure takes: how many arguments, and which.
_TARGET = (2, "a signal and its target")
_CONDITION = (1, "a condition")
TAKES = {
    **dict.fromkeys(("overshoot", "undershoot", "worst_error", "iae", "itae"), _TARGET),
    "settling": (3, "a signal, its target and a band"),
    "ramp": (3, "a signal, where it starts and where it ends"),
    **dict.fromkeys(("switchings", "longest", "shortest"), _CONDITION),
}
"""Figures by name."""


def build_figure(spec: AssertionSpec, names: Names) -> tuple[Figure, Bound]:
    """What a `count`, `each`, `figure` or `again` measures, and its bound.

    Raises ExpressionError; for a mistake in the bound it is a BoundError.
    """
    if spec.again is not None:
        return FigureBuilder(spec.again, names).absent(float(spec.within_ms or 0))
    upper = spec.at_most is not None
    bound = (spec.at_most if upper else spec.at_least) or ""
    if spec.count is not None:
        return FigureBuilder(spec.count, names).counted(bound, upper)
    if spec.each is not None:
        return FigureBuilder(spec.each, names).lasting(bound, upper)
    return FigureBuilder(spec.figure or "", names).figure(bound, upper)


class FigureBuilder(Builder):
    """Builds what one figure's text says; refuses with an ExpressionError that points at the part."""

    def figure(self, bound: str, upper: bool) -> tuple[Figure, Bound]:
        """The figure, and its bound in the figure's unit."""
        tree = self._parsed("figure")
        name, given = tree.words[0].text, tree.children
        if name not in TAKES:
            listed = ", ".join(TAKES)
            self._refuse(tree, f"no figure is called '{name}'{near(name, TAKES)}. There are: {listed}")
        wanted, takes = TAKES[name]
        if len(given) != wanted:
            self._refuse(tree, f"{name}() takes {takes}")
        build: Callable[..., tuple[Figure, Bound]] = getattr(self, f"_figure_{name}")
        return build(*given, partial(self._limit, bound, upper))

    def arguments(self) -> list[Number | Condition]:
        """What the figure is taken of: conditions, or numbers in the unit of the first."""
        tree = self._parsed("figure")
        if TAKES[tree.words[0].text] is _CONDITION:
            return [self._condition(part) for part in tree.children]
        numbers = [self._number(part) for part in tree.children]
        first = numbers[0].kind
        return [
            self._converted(number, first) if number.kind.same_measure(first) else number
            for number in numbers
        ]

    def counted(self, bound: str, upper: bool) -> tuple[Figure, Bound]:
        """How often the condition that the text states comes."""
        return self._count_of(self.condition(), partial(self._limit, bound, upper))

    def lasting(self, bound: str, upper: bool) -> tuple[Figure, Bound]:
        """How long the condition lasts each time: the longest for an upper bound, else the shortest."""
        condition, limit = self.condition(), self._limit(bound, upper, SECONDS)
        if not upper:
            return Figure(SECONDS, (condition,), lambda at: Shortest(at, condition)), limit
        return Figure(SECONDS, (condition,), lambda at: Longest(at, condition, limit, each=True)), limit

    def absent(self, within_ms: float) -> tuple[Figure, Bound]:
        """How long the condition stays away."""
        without = self._make(Not, self.condition())
        limit = Bound(within_ms / 1000.0, True)
        return Figure(SECONDS, (without,), lambda at: Absent(at, without, limit)), limit

    # Figures of a number

    def _error(self, left_tree: Node, right_tree: Node) -> Number:
        """How far a signal is above its target, as a difference."""
        left, right = self._number(left_tree), self._number(right_tree)
        left, right = self._alike(left_tree, left, right_tree, right, "cannot be compared with")
        return self._make(Pair, "-", left, right, left.kind.difference())

    def _below(self, number: Number) -> Less:
        """`number <= 0`."""
        return self._between(number, self._make(Literal, 0.0, number.kind))

    def _between(self, low: Number, high: Number) -> Less:
        gap = self._make(Pair, "-", high, low, low.kind.difference())
        return self._make(Less, low, high, True, gap)

    def _negative_of(self, number: Number) -> Number:
        return self._make(Linear, number, -1.0, 0.0, number.kind)

    def _peak(self, number: Number, bound: Limit) -> tuple[Figure, Bound]:
        sides = (self._below(number), self._below(self._negative_of(number)))
        return Figure(number.kind, (number, *sides), lambda at: Peak(at, number, sides)), bound(number.kind)

    def _figure_overshoot(self, signal: Node, target: Node, bound: Limit) -> tuple[Figure, Bound]:
        return self._peak(self._error(signal, target), bound)

    def _figure_undershoot(self, signal: Node, target: Node, bound: Limit) -> tuple[Figure, Bound]:
        return self._peak(self._negative_of(self._error(signal, target)), bound)

    def _figure_worst_error(self, signal: Node, target: Node, bound: Limit) -> tuple[Figure, Bound]:
        size = self._make(Absolute, self._error(signal, target))
        return Figure(size.kind, (size,), lambda at: Peak(at, size)), bound(size.kind)

    def _figure_iae(self, signal: Node, target: Node, bound: Limit) -> tuple[Figure, Bound]:
        return self._integral(signal, target, bound, weighed=False)

    def _figure_itae(self, signal: Node, target: Node, bound: Limit) -> tuple[Figure, Bound]:
        return self._integral(signal, target, bound, weighed=True)

    def _integral(self, signal: Node, target: Node, bound: Limit, weighed: bool) -> tuple[Figure, Bound]:
        size = self._make(Absolute, self._error(signal, target))
        kind = product(size.kind, SECONDS, 1)
        if weighed:
            kind = product(kind, SECONDS, 1)
        return Figure(kind, (size,), lambda at: Integral(at, size, weighed)), bound(kind)

    def _figure_settling(self, signal: Node, target: Node, band: Node, bound: Limit) -> tuple[Figure, Bound]:
        size = self._make(Absolute, self._error(signal, target))
        left, right = self._alike(signal, size, band, self._number(band), "cannot be compared with")
        within = self._between(left, right)
        return Figure(SECONDS, (within,), lambda at: Settling(at, within)), bound(SECONDS)

    def _figure_ramp(self, signal: Node, begin: Node, end: Node, bound: Limit) -> tuple[Figure, Bound]:
        from_begin, from_end = self._error(signal, begin), self._error(signal, end)
        span = self._error(end, begin).constant
        if span is None or span == 0.0:
            self._refuse(end, "two different fixed bounds are wanted, as in ramp(liquor, 40 degC, 60 degC)")
        if span < 0:
            from_begin, from_end = self._negative_of(from_begin), self._negative_of(from_end)
        before, there = self._below(from_begin), self._below(self._negative_of(from_end))
        kind = per_second(from_begin.kind)
        # The bounds may be written in another unit than the signal's.
        size = abs(span) * self._error(end, begin).kind.conversion(from_begin.kind)[0]
        return Figure(kind, (before, there), lambda at: Ramp(at, before, there, size)), bound(kind)

    # Figures of a condition

    def _figure_switchings(self, condition: Node, bound: Limit) -> tuple[Figure, Bound]:
        return self._count_of(self._condition(condition), bound)

    def _count_of(self, condition: Condition, bound: Limit) -> tuple[Figure, Bound]:
        limit = bound(COUNT)
        return Figure(COUNT, (condition,), lambda at: Count(at, condition, limit)), limit

    def _figure_longest(self, condition: Node, bound: Limit) -> tuple[Figure, Bound]:
        inner, limit = self._condition(condition), bound(SECONDS)
        return Figure(SECONDS, (inner,), lambda at: Longest(at, inner, limit)), limit

    def _figure_shortest(self, condition: Node, bound: Limit) -> tuple[Figure, Bound]:
        inner = self._condition(condition)
        return Figure(SECONDS, (inner,), lambda at: Shortest(at, inner)), bound(SECONDS)

    # The bound

    def _limit(self, text: str, upper: bool, kind: Kind) -> Bound:
        try:
            return BoundBuilder(text, self._names).bound(kind, upper)
        except ExpressionError as slip:
            error = BoundError(slip.text, slip.column, slip.what)
            error.key = "at_most" if upper else "at_least"
            raise error from None


class BoundError(ExpressionError):
    """A bound that is none, or does not fit what it bounds; `key` is its TOML key."""

    key = ""


class BoundBuilder(Builder):
    """Builds a bound: a fixed number in the unit of what it bounds."""

    def bound(self, kind: Kind, upper: bool) -> Bound:
        tree = self._parsed("bound").children[0]
        number = self._number(tree)
        if not number.kind.same_measure(kind):
            measures = "a count" if kind is COUNT else kind.measures
            self._refuse(tree, f"is {number.kind.measures}; {measures} is wanted here")
        value = self._converted(number, kind).constant
        if value is None or not math.isfinite(value):
            self._refuse(tree, "changes during the run; a fixed number is wanted here")
        if value < 0 or (kind is COUNT and value != round(value)):
            self._refuse(tree, "a whole number is wanted here" if kind is COUNT else "is below 0")
        return Bound(value, upper)
