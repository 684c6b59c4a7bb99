"""From an expression's text to its conditions, with names and units checked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .build_numbers import NumberBuilder, called, signals_of
from .conditions import Both, Condition, Equal, Flag, Known, Less, Not
from .grammar import parse
from .names import is_switched
from .numbers import Number, Pair
from .past import Edge, Held, Latch, Moment

if TYPE_CHECKING:
    from lark import Token, Tree

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
            return self._make(Latch, *parts)  # type: ignore[no-any-return]
        scope: Condition = self._make(Latch, parts[0], None)
        if tree.data == "before":
            scope = self._make(Not, scope)
        return scope

    # The tree

    def _parsed(self, start: str) -> Any:
        tree = parse(self._text, start)
        self._check_depth(tree)
        return tree

    def _check_depth(self, tree: Any) -> None:
        level, depth = [tree], 0
        while level:
            depth += 1
            if depth > DEEPEST:
                self._refuse(level[0], f"is nested more than {DEEPEST} deep. Split the assertion")
            level = [child for node in level for child in getattr(node, "children", ())]

    # Conditions

    def _condition(self, tree: Tree[Token]) -> Condition:
        build = getattr(self, f"_{tree.data}", None)
        if tree.data in ("or_", "and_", "not_", "comparison") and build is not None:
            return build(tree)  # type: ignore[no-any-return]
        if tree.data == "call" and called(tree) in ("rises", "falls", "held", "known"):
            return self._call_condition(tree)
        return self._flag(tree)

    def _or_(self, tree: Any) -> Condition:
        left, right = (self._condition(child) for child in tree.children)
        return self._make(Both, left, right, True)  # type: ignore[no-any-return]

    def _and_(self, tree: Any) -> Condition:
        left, right = (self._condition(child) for child in tree.children)
        return self._make(Both, left, right, False)  # type: ignore[no-any-return]

    def _not_(self, tree: Any) -> Condition:
        return self._make(Not, self._condition(tree.children[0]))  # type: ignore[no-any-return]

    def _flag(self, tree: Any) -> Condition:
        if tree.data != "name":
            number = self._number(tree)
            said = f"is {number.kind.measures}; a condition is wanted here. Compare it, as in 'x < 80 degC'"
            self._refuse(tree, said)
        signal = self._name(tree)
        unit = self._names.units.get(signal.name)
        if unit not in ("bool", None):
            mend = f"Compare it, as in 'x > 2 {unit}'"
            self._refuse(tree, f"'{signal.name}' is no yes-or-no signal, its unit is {unit}. {mend}")
        return self._make(Flag, signal)  # type: ignore[no-any-return]

    def _comparison(self, tree: Any) -> Condition:
        parts = tree.children
        links = [self._compare(*parts[at : at + 3]) for at in range(0, len(parts) - 2, 2)]
        joined = links[0]
        for link in links[1:]:
            joined = self._make(Both, joined, link, False)
        return joined

    def _compare(self, left_tree: Any, sign: Any, right_tree: Any) -> Condition:
        left, right = self._number(left_tree), self._number(right_tree)
        left, right = self._alike(left_tree, left, right_tree, right, f"cannot be compared ('{sign}') with")
        if sign in (">", ">="):
            left, right = right, left
        gap = self._make(Pair, "-", right, left, left.kind.difference())
        if sign in ("==", "!="):
            self._must_jump(sign, left, right)
            return self._make(Equal, left, right, sign == "!=", gap)  # type: ignore[no-any-return]
        return self._make(Less, left, right, len(sign) == 2, gap)  # type: ignore[no-any-return]

    def _must_jump(self, sign: Any, *sides: Number) -> None:
        names = self._names
        for name in sorted(set().union(*(signals_of(side) for side in sides))):
            if name in names.units and not is_switched(name, names.units[name]):
                said = f"'{sign}' asks '{name}', which changes smoothly, for one exact value. Use '<' or '>'"
                self._refuse(sign, said)

    def _call_condition(self, tree: Any) -> Condition:
        function, given = called(tree), tree.children[1:]
        self._count(tree, given, 2 if function == "held" else 1)
        if function == "known":
            return self._make(Known, self._number(given[0]))  # type: ignore[no-any-return]
        inner = self._condition(given[0])
        if function == "held":
            return self._make(Held, inner, self._time(given[1]))  # type: ignore[no-any-return]
        if function == "falls":
            inner = self._make(Not, inner)
        return self._make(Edge, inner)  # type: ignore[no-any-return]

    # Moments and scopes

    def _bound(self, tree: Any) -> Condition:
        return self._moment(tree, pulse=False) if tree.data == "quantity" else self._condition(tree)

    def _moment(self, tree: Any, pulse: bool) -> Condition:
        moment = self._names.start_ms + self._time(tree)
        return self._make(Moment, moment, pulse)  # type: ignore[no-any-return]

    def _in_order(self, parts: list[Condition], tree: Any) -> None:
        first, last = parts
        if isinstance(first, Moment) and isinstance(last, Moment) and last.at_ms <= first.at_ms:
            self._refuse(tree.children[1], "the scope ends before it begins. Put the earlier time first")
