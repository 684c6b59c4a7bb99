"""From an expression's text to its conditions, with names and units checked."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import pairwise

from .build_numbers import NumberBuilder, called, signals_of
from .conditions import Both, Condition, Equal, Flag, Known, Less, Not
from .grammar import parse
from .names import is_switched
from .numbers import Number, Pair
from .past import Edge, Held, Latch, Moment
from .tree import Node, Word

DEEPEST = 60
"""Levels an expression may be nested."""


class Builder(NumberBuilder):
    """Builds what one text says; refuses with an ExpressionError that points at the part."""

    def condition(self) -> Condition:
        return self._condition(self._parsed("condition").children[0])

    def trigger(self) -> Condition:
        """A condition, or `at` a time: true at that moment alone."""
        tree = self._parsed("trigger")
        if tree.data != "at":
            return self._condition(tree.children[0])
        return self._moment(tree.children[0], pulse=True)

    def scope(self) -> Condition:
        """A condition, or `between A and B`, `before A`, `after A`, where A and B may be times."""
        tree = self._parsed("scope")
        if tree.data == "scope":
            return self._condition(tree.children[0])
        parts = [self._bound(part) for part in tree.children]
        if tree.data == "between":
            self._in_order(parts, tree)
            return self._make(Latch, *parts)
        scope: Condition = self._make(Latch, parts[0], None)
        if tree.data == "before":
            scope = self._make(Not, scope)
        return scope

    # The tree

    def _parsed(self, start: str) -> Node:
        tree = parse(self._text, start)
        self._check_depth(tree)
        return tree

    def _check_depth(self, tree: Node) -> None:
        level = [tree]
        for _ in range(DEEPEST - 1):
            level = [child for node in level for child in node.children]
        if level:  # what these consist of, words at least, is too deep
            parts: list[Node | Word] = [*level[0].words, *level[0].children]
            first = min(parts, key=lambda part: part.start)
            self._refuse(first, f"is nested more than {DEEPEST} deep. Split the assertion")

    # Conditions

    def _condition(self, tree: Node) -> Condition:
        build = _CONDITIONS.get(tree.data)
        if build is not None:
            return build(self, tree)
        if tree.data == "call" and called(tree) in ("rises", "falls", "held", "known"):
            return self._call_condition(tree)
        return self._flag(tree)

    def _or_(self, tree: Node) -> Condition:
        left, right = (self._condition(child) for child in tree.children)
        return self._make(Both, left, right, True)

    def _and_(self, tree: Node) -> Condition:
        left, right = (self._condition(child) for child in tree.children)
        return self._make(Both, left, right, False)

    def _not_(self, tree: Node) -> Condition:
        return self._make(Not, self._condition(tree.children[0]))

    def _flag(self, tree: Node) -> Condition:
        if tree.data != "name":
            number = self._number(tree)
            said = f"is {number.kind.measures}; a condition is wanted here. Compare it, as in 'x < 80 degC'"
            self._refuse(tree, said)
        signal = self._name(tree)
        unit = self._names.units.get(signal.name)
        if unit not in ("bool", None):
            mend = f"Compare it, as in 'x > 2 {unit}'"
            self._refuse(tree, f"'{signal.name}' is no yes-or-no signal, its unit is {unit}. {mend}")
        return self._make(Flag, signal)

    def _comparison(self, tree: Node) -> Condition:
        links = [
            self._compare(left, sign, right)
            for sign, (left, right) in zip(tree.words, pairwise(tree.children), strict=True)
        ]
        joined, *others = links
        for link in others:
            joined = self._make(Both, joined, link, False)
        return joined

    def _compare(self, left_tree: Node, word: Word, right_tree: Node) -> Condition:
        sign = word.text
        left, right = self._number(left_tree), self._number(right_tree)
        left, right = self._alike(left_tree, left, right_tree, right, f"cannot be compared ('{sign}') with")
        if sign in (">", ">="):
            left, right = right, left
        gap = self._make(Pair, "-", right, left, left.kind.difference())
        if sign in ("==", "!="):
            self._must_jump(word, left, right)
            return self._make(Equal, left, right, sign == "!=", gap)
        return self._make(Less, left, right, len(sign) == 2, gap)

    def _must_jump(self, sign: Word, *sides: Number) -> None:
        names = self._names
        for name in sorted(set().union(*(signals_of(side) for side in sides))):
            if name in names.units and not is_switched(name, names.units[name]):
                said = f"'{sign.text}' asks '{name}', which changes smoothly, for one exact value."
                self._refuse(sign, f"{said} Use '<' or '>'")

    def _call_condition(self, tree: Node) -> Condition:
        function, given = called(tree), tree.children
        self._count(tree, given, 2 if function == "held" else 1)
        if function == "known":
            return self._make(Known, self._number(given[0]))
        inner = self._condition(given[0])
        if function == "held":
            return self._make(Held, inner, self._time(given[1]))
        if function == "falls":
            inner = self._make(Not, inner)
        return self._make(Edge, inner)

    # Moments and scopes

    def _bound(self, tree: Node) -> Condition:
        return self._moment(tree, pulse=False) if tree.data == "quantity" else self._condition(tree)

    def _moment(self, tree: Node, pulse: bool) -> Condition:
        moment = self._names.start_ms + self._time(tree)
        return self._make(Moment, moment, pulse)

    def _in_order(self, parts: list[Condition], tree: Node) -> None:
        first, last = parts
        if isinstance(first, Moment) and isinstance(last, Moment) and last.at_ms <= first.at_ms:
            self._refuse(tree.children[1], "the scope ends before it begins. Put the earlier time first")


_CONDITIONS: Mapping[str, Callable[[Builder, Node], Condition]] = {
    "or_": Builder._or_,
    "and_": Builder._and_,
    "not_": Builder._not_,
    "comparison": Builder._comparison,
}
