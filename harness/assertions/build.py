"""From a parsed expression to numbers and conditions, with names and units checked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from harness.quantity import Quantity, QuantityError, parse_quantity

from .conditions import Both, Condition, Equal, Flag, Known, Less, Not
from .grammar import FUNCTIONS, ExpressionError, near, parse
from .kinds import NUMBER, UNIT_UNKNOWN, Kind, kind_of, per_second, product
from .numbers import Absolute, Linear, Literal, Number, Pair, Rate, Signal
from .past import Edge, Held, Latch, Moment

if TYPE_CHECKING:
    from lark import Token, Tree

DEEPEST = 60
"""Levels an expression may be nested."""

_SWITCHED_UNITS = frozenset({"bool", "count", "permille"})
_DEVICE = ("in.", "out.", "tell.")


def is_switched(name: str, unit: str) -> bool:
    """Whether a signal holds until the next row: by its unit, and whatever was said to or by the device."""
    return unit in _SWITCHED_UNITS or name.startswith(_DEVICE)


class Names:
    """The recorded signals an expression may use, and the nodes built from them so far.

    Equal parts of expressions become one node, so that they are worked out once a stretch.

    Parameters
    ----------
    units : Mapping[str, str]
        Recorded signal -> unit.
    open_prefixes : tuple of str
        Names that begin so may be used although not in `units`: their unit is not known yet.
    start_ms : int
        Bench time at which the run starts; moments such as `at 8 min` count from it. [ms]
    """

    def __init__(
        self, units: Mapping[str, str], open_prefixes: tuple[str, ...] = (), start_ms: int = 0
    ) -> None:
        self.units = dict(units)
        self.open_prefixes = open_prefixes
        self.start_ms = start_ms
        self.used: set[str] = set()
        self._nodes: dict[tuple[Any, ...], Any] = {}

    def node(self, make: Any, *parts: Any) -> Any:
        """`make(*parts)`, the same object for the same parts."""
        key = (make, *parts)
        if key not in self._nodes:
            self._nodes[key] = make(*parts)
        return self._nodes[key]

    def nodes(self) -> list[Any]:
        """All nodes, children before those built from them."""
        return list(self._nodes.values())

    @property
    def switched(self) -> frozenset[str]:
        return frozenset(name for name, unit in self.units.items() if is_switched(name, unit))


class Builder:
    """Builds what one text says; refuses with an ExpressionError that points at the part."""

    def __init__(self, text: str, names: Names) -> None:
        self._text, self._names = text, names

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
        latch: Condition = self._make(Latch, parts[0], None)
        return latch if tree.data == "since" else self._make(Not, latch)

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

    def _refuse(self, tree: Any, what: str) -> Any:
        start = getattr(tree, "start_pos", None)
        if start is None:
            start = getattr(tree.meta, "start_pos", 0) if hasattr(tree, "meta") else 0
        raise ExpressionError(self._text, start + 1, what) from None

    def _make(self, make: Any, *parts: Any) -> Any:
        return self._names.node(make, *parts)

    # Conditions

    def _condition(self, tree: Tree[Token]) -> Condition:
        build = getattr(self, f"_{tree.data}", None)
        if tree.data in ("or_", "and_", "not_", "comparison") and build is not None:
            return build(tree)  # type: ignore[no-any-return]
        if tree.data == "call" and _called(tree) in ("rises", "falls", "held", "known"):
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
            said = f"'{signal.name}' is no yes-or-no signal, its unit is {unit}. Compare it, as in 'x > 2 {unit}'"
            self._refuse(tree, said)
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
        for name in sorted(set().union(*(_signals(side) for side in sides))):
            if name in names.units and not is_switched(name, names.units[name]):
                said = f"'{sign}' asks '{name}', which changes smoothly, for one exact value. Use '<' or '>'"
                self._refuse(sign, said)

    def _call_condition(self, tree: Any) -> Condition:
        function, given = _called(tree), tree.children[1:]
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

    def _time(self, tree: Any) -> float:
        quantity = self._quantity_text(tree) if tree.data == "quantity" else None
        if quantity is None or quantity.dimension != "time" or quantity.value < 0:
            self._refuse(tree, "a time is wanted here, such as '5 s' or '8 min'")
        assert quantity is not None
        return quantity.to("ms")

    def _in_order(self, parts: list[Condition], tree: Any) -> None:
        first, last = parts
        if isinstance(first, Moment) and isinstance(last, Moment) and last.at_ms <= first.at_ms:
            self._refuse(tree.children[1], "the scope ends before it begins. Put the earlier time first")

    # Numbers

    def _number(self, tree: Any) -> Number:
        build = _NUMBERS.get(tree.data)
        if build is not None:
            return build(self, tree)  # type: ignore[no-any-return]
        if tree.data == "call" and _called(tree) in ("abs", "min", "max", "rate"):
            return self._call_number(tree)
        return self._refuse(tree, "is a condition; a number is wanted here")  # type: ignore[no-any-return]

    def _literal(self, tree: Any) -> Number:
        return self._make(Literal, float(tree.children[0]), NUMBER)  # type: ignore[no-any-return]

    def _quantity(self, tree: Any) -> Number:
        quantity = self._quantity_text(tree)
        return self._make(Literal, quantity.value, kind_of(quantity.unit))  # type: ignore[no-any-return]

    def _quantity_text(self, tree: Any) -> Quantity:
        parts = tree.children
        try:
            read = [parse_quantity(f"{parts[at]} {parts[at + 1]}") for at in range(0, len(parts), 2)]
        except QuantityError as slip:
            return self._refuse(tree, str(slip))  # type: ignore[no-any-return]
        if len(read) == 1:
            return read[0]
        if any(part.dimension != "time" for part in read):
            self._refuse(tree, "two quantities in a row. Only times are written so, as '1 h 30 min'")
        return Quantity(sum(part.to("ms") for part in read), "ms")

    def _name(self, tree: Any) -> Signal:
        name, names = str(tree.children[0]), self._names
        unit = names.units.get(name)
        if unit is None and not name.startswith(names.open_prefixes or ("\0",)):
            if name in FUNCTIONS:
                self._refuse(tree, f"'{name}' is a function. Write {name}(...)")
            self._refuse(tree, f"no signal is called '{name}'{near(name, list(names.units))}")
        names.used.add(name)
        kind = UNIT_UNKNOWN if unit is None else kind_of(unit)
        return self._make(Signal, name, kind)  # type: ignore[no-any-return]

    def _sign(self, tree: Any) -> Number:
        sign, inner_tree = tree.children
        if sign == "-" and inner_tree.data == "quantity":
            return self._negative(inner_tree)
        inner = self._number(inner_tree)
        if sign == "+":
            return inner
        self._no_scale(inner_tree, inner, "cannot be negated")
        return self._make(Linear, inner, -1.0, 0.0, inner.kind)  # type: ignore[no-any-return]

    def _negative(self, tree: Any) -> Number:
        """`-5 degC`: the sign belongs to the number, not to the temperature."""
        quantity = self._quantity_text(tree)
        return self._make(Literal, -quantity.value, kind_of(quantity.unit))  # type: ignore[no-any-return]

    def _add(self, tree: Any) -> Number:
        left_tree, sign, right_tree = tree.children
        left, right = self._number(left_tree), self._number(right_tree)
        kind = self._sum_kind(tree, sign, left, right)
        doing = "cannot be added to" if sign == "+" else "cannot have subtracted from it"
        if left.kind.same_measure(right.kind):
            left, right = self._alike(left_tree, left, right_tree, right, doing)
            kind = left.kind.difference() if left.kind.offset is not None else left.kind
        elif kind is None:
            self._unlike(right_tree, left, right, doing)
        elif left.kind.offset is not None:
            right = self._converted(right, left.kind.difference())
        else:
            left = self._converted(left, right.kind.difference())
        return self._make(Pair, str(sign), left, right, kind)  # type: ignore[no-any-return]

    def _sum_kind(self, tree: Any, sign: Any, left: Number, right: Number) -> Kind | None:
        """Kind of a temperature and a difference together; None where that is not what is added."""
        one, other = left.kind, right.kind
        if one.offset is not None and other.offset is not None and sign == "+":
            self._refuse(tree, "two temperatures cannot be added. A difference is written '2 K'")
        if one.powers != other.powers or one.ratio or other.ratio:
            return None
        if one.offset is not None:
            return one
        return other if other.offset is not None and sign == "+" else None

    def _mul(self, tree: Any) -> Number:
        left_tree, sign, right_tree = tree.children
        doing = "cannot be multiplied" if sign == "*" else "cannot be divided"
        sides = []
        for side in (left_tree, right_tree):
            number = self._number(side)
            self._no_scale(side, number, doing)
            sides.append(self._converted(number, NUMBER) if number.kind.ratio else number)
        kind = product(sides[0].kind, sides[1].kind, 1 if sign == "*" else -1)
        return self._make(Pair, str(sign), *sides, kind)  # type: ignore[no-any-return]

    def _call_number(self, tree: Any) -> Number:
        function, given = _called(tree), tree.children[1:]
        if function in ("min", "max"):
            return self._extreme(tree, function, given)
        self._count(tree, given, 1)
        inner = self._number(given[0])
        if function == "abs":
            self._no_scale(given[0], inner, "has no absolute value")
            return self._make(Absolute, inner)  # type: ignore[no-any-return]
        self._must_flow(given[0], inner)
        return self._make(Rate, inner, per_second(inner.kind))  # type: ignore[no-any-return]

    def _extreme(self, tree: Any, function: str, given: list[Any]) -> Number:
        if len(given) < 2:
            self._refuse(tree, f"{function}() takes two numbers or more")
        first = self._number(given[0])
        for other_tree in given[1:]:
            other = self._number(other_tree)
            first, other = self._alike(given[0], first, other_tree, other, "cannot be ranked with")
            first = self._make(Pair, function, first, other, first.kind)
        return first

    def _must_flow(self, tree: Any, inner: Number) -> None:
        for name in sorted(_signals(inner)):
            if is_switched(name, self._names.units.get(name, "bool")):
                said = f"'{name}' jumps from value to value and has no rate. Take one that flows"
                self._refuse(tree, said)

    # Units

    def _alike(
        self, left_tree: Any, left: Number, right_tree: Any, right: Number, doing: str
    ) -> tuple[Number, Number]:
        """Both in one unit: that of the left, or of the right where the left is a literal."""
        if not left.kind.same_measure(right.kind):
            self._unlike(right_tree, left, right, doing)
        if left.constant is not None and right.constant is None:
            return self._converted(left, right.kind), right
        return left, self._converted(right, left.kind)

    def _unlike(self, tree: Any, left: Number, right: Number, doing: str) -> None:
        said = f"{left.kind.measures} {doing} {right.kind.measures}{_mend(left.kind, right.kind)}"
        self._refuse(tree, said)

    def _converted(self, number: Number, kind: Kind) -> Number:
        factor, offset = number.kind.conversion(kind)
        if factor == 1.0 and offset == 0.0:
            return number
        return self._make(Linear, number, factor, offset, kind)  # type: ignore[no-any-return]

    def _no_scale(self, tree: Any, number: Number, doing: str) -> None:
        if number.kind.offset is not None:
            self._refuse(tree, f"{number.kind.measures} {doing}. Take a difference of two temperatures")

    def _count(self, tree: Any, given: list[Any], wanted: int) -> None:
        if len(given) != wanted:
            takes = "a condition and a time" if wanted == 2 else "one argument"
            self._refuse(tree, f"{_called(tree)}() takes {takes}")


_NUMBERS: dict[str, Any] = {
    "number": Builder._literal,
    "quantity": Builder._quantity,
    "name": Builder._name,
    "sign": Builder._sign,
    "add": Builder._add,
    "mul": Builder._mul,
}


def _called(tree: Any) -> str:
    return str(tree.children[0])


def _signals(number: Number) -> set[str]:
    if isinstance(number, Signal):
        return {number.name}
    return set().union(*(_signals(child) for child in number.children))


def _mend(left: Kind, right: Kind) -> str:
    if left.offset is not None and right.offset is None and left.powers == right.powers:
        return ". K is a difference; a temperature is written '50 degC'"
    if right.free and not left.free:
        return f". Write the number with its unit, {left.label}" if left.label else ""
    if left.powers == right.powers and right.offset is not None:
        return ". A difference is written in K"
    return ""
