"""From the tree of an expression to its numbers, with names and units checked."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NoReturn

from harness.quantity import LARGEST, Quantity, QuantityError, parse_quantity

from .kinds import NUMBER, UNIT_UNKNOWN, Kind, kind_of, per_second, product
from .names import Made, Names, is_switched
from .numbers import Absolute, Linear, Literal, Number, Pair, Rate, Signal
from .refusal import ExpressionError, near
from .scanner import FUNCTIONS
from .tree import Node, Word


class NumberBuilder:
    """Builds the numbers of one text; refuses with an ExpressionError that points at the part."""

    def __init__(self, text: str, names: Names) -> None:
        self._text, self._names = text, names

    def _number(self, tree: Node) -> Number:
        build = _NUMBERS.get(tree.data)
        if build is not None:
            return build(self, tree)
        if tree.data == "call" and called(tree) in ("abs", "min", "max", "rate"):
            return self._call_number(tree)
        self._refuse(tree, "is a condition; a number is wanted here")

    def _literal(self, tree: Node) -> Number:
        text = tree.words[0].text
        value = float(text)
        if value > LARGEST:
            self._refuse(tree, f"'{text}' is beyond the largest number taken, {LARGEST:g}")
        return self._make(Literal, value, NUMBER)

    def _quantity(self, tree: Node) -> Number:
        quantity = self._quantity_text(tree)
        return self._make(Literal, quantity.value, kind_of(quantity.unit))

    def _quantity_text(self, tree: Node) -> Quantity:
        texts = [word.text for word in tree.words]
        try:
            read = [parse_quantity(f"{texts[at]} {texts[at + 1]}") for at in range(0, len(texts), 2)]
        except QuantityError as slip:
            self._refuse(tree, str(slip))
        if len(read) == 1:
            return read[0]
        if any(part.dimension != "time" for part in read):
            self._refuse(tree, "two quantities in a row. Only times are written so, as '1 h 30 min'")
        return Quantity(sum(part.to("ms") for part in read), "ms")

    def _name(self, tree: Node) -> Signal:
        name, names = tree.words[0].text, self._names
        unit = names.units.get(name)
        if unit is None and not name.startswith(names.open_prefixes or ("\0",)):
            if name in FUNCTIONS:
                self._refuse(tree, f"'{name}' is a function. Write {name}(...)")
            self._refuse(tree, f"no signal is called '{name}'{near(name, names.units)}")
        names.used.add(name)
        kind = UNIT_UNKNOWN if unit is None else kind_of(unit)
        return self._make(Signal, name, kind)

    def _sign(self, tree: Node) -> Number:
        sign, inner_tree = tree.words[0].text, tree.children[0]
        if sign == "-" and inner_tree.data == "quantity":
            return self._negative(inner_tree)
        inner = self._number(inner_tree)
        if sign == "+":
            return inner
        self._no_scale(inner_tree, inner, "cannot be negated")
        return self._make(Linear, inner, -1.0, 0.0, inner.kind)

    def _negative(self, tree: Node) -> Number:
        """`-5 degC`: the sign belongs to the number, not to the temperature."""
        quantity = self._quantity_text(tree)
        return self._make(Literal, -quantity.value, kind_of(quantity.unit))

    def _add(self, tree: Node) -> Number:
        sign, (left_tree, right_tree) = tree.words[0].text, tree.children
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
        return self._make(Pair, sign, left, right, kind)

    def _sum_kind(self, tree: Node, sign: str, left: Number, right: Number) -> Kind | None:
        """Kind of a temperature and a difference together; None where that is not what is added."""
        one, other = left.kind, right.kind
        if one.offset is not None and other.offset is not None and sign == "+":
            self._refuse(tree, "two temperatures cannot be added. A difference is written '2 K'")
        if one.powers != other.powers or one.ratio or other.ratio:
            return None
        if one.offset is not None:
            return one
        return other if other.offset is not None and sign == "+" else None

    def _mul(self, tree: Node) -> Number:
        sign, (left_tree, right_tree) = tree.words[0].text, tree.children
        doing = "cannot be multiplied" if sign == "*" else "cannot be divided"
        sides = []
        for side in (left_tree, right_tree):
            number = self._number(side)
            self._no_scale(side, number, doing)
            sides.append(self._converted(number, NUMBER) if number.kind.ratio else number)
        kind = product(sides[0].kind, sides[1].kind, 1 if sign == "*" else -1)
        return self._make(Pair, sign, *sides, kind)

    def _call_number(self, tree: Node) -> Number:
        function, given = called(tree), tree.children
        if function in ("min", "max"):
            return self._extreme(tree, function, given)
        self._count(tree, given, 1)
        inner = self._number(given[0])
        if function == "abs":
            self._no_scale(given[0], inner, "has no absolute value")
            return self._make(Absolute, inner)
        self._must_flow(given[0], inner)
        return self._make(Rate, inner, per_second(inner.kind))

    def _extreme(self, tree: Node, function: str, given: Sequence[Node]) -> Number:
        if len(given) < 2:
            self._refuse(tree, f"{function}() takes two numbers or more")
        first = self._number(given[0])
        for other_tree in given[1:]:
            other = self._number(other_tree)
            first, other = self._alike(given[0], first, other_tree, other, "cannot be ranked with")
            first = self._make(Pair, function, first, other, first.kind)
        return first

    def _must_flow(self, tree: Node, inner: Number) -> None:
        for name in sorted(signals_of(inner)):
            if is_switched(name, self._names.units.get(name, "bool")):
                said = f"'{name}' jumps from value to value and has no rate. Take one that flows"
                self._refuse(tree, said)

    def _time(self, tree: Node) -> float:
        quantity = self._quantity_text(tree) if tree.data == "quantity" else None
        if quantity is None or quantity.dimension != "time" or quantity.value < 0:
            self._refuse(tree, "a time is wanted here, such as '5 s' or '8 min'")
        return quantity.to("ms")

    def _alike(
        self, left_tree: Node, left: Number, right_tree: Node, right: Number, doing: str
    ) -> tuple[Number, Number]:
        """Both in one unit: that of the left, or of the right where the left is a literal."""
        if not left.kind.same_measure(right.kind):
            self._unlike(right_tree, left, right, doing)
        if left.constant is not None and right.constant is None:
            return self._converted(left, right.kind), right
        return left, self._converted(right, left.kind)

    def _unlike(self, tree: Node, left: Number, right: Number, doing: str) -> NoReturn:
        said = f"{left.kind.measures} {doing} {right.kind.measures}{_mend(left.kind, right.kind)}"
        self._refuse(tree, said)

    def _converted(self, number: Number, kind: Kind) -> Number:
        factor, offset = number.kind.conversion(kind)
        if factor == 1.0 and offset == 0.0:
            return number
        return self._make(Linear, number, factor, offset, kind)

    def _no_scale(self, tree: Node, number: Number, doing: str) -> None:
        if number.kind.offset is not None:
            self._refuse(tree, f"{number.kind.measures} {doing}. Take a difference of two temperatures")

    def _count(self, tree: Node, given: Sequence[Node], wanted: int) -> None:
        if len(given) != wanted:
            takes = "a condition and a time" if wanted == 2 else "one argument"
            self._refuse(tree, f"{called(tree)}() takes {takes}")

    # The text

    def _refuse(self, part: Node | Word, what: str) -> NoReturn:
        raise ExpressionError(self._text, part.start + 1, what) from None

    def _make(self, make: Callable[..., Made], *parts: Any) -> Made:
        return self._names.node(make, *parts)


_NUMBERS: Mapping[str, Callable[[NumberBuilder, Node], Number]] = {
    "number": NumberBuilder._literal,
    "quantity": NumberBuilder._quantity,
    "name": NumberBuilder._name,
    "sign": NumberBuilder._sign,
    "add": NumberBuilder._add,
    "mul": NumberBuilder._mul,
}


def called(tree: Node) -> str:
    """The name of the function that a call in the tree calls."""
    return tree.words[0].text


def signals_of(number: Number) -> set[str]:
    """The names of all signals that a number is worked out from."""
    if isinstance(number, Signal):
        return {number.name}
    return set().union(*(signals_of(child) for child in number.children))


def _mend(left: Kind, right: Kind) -> str:
    if left.offset is not None and right.offset is None and left.powers == right.powers:
        return ". K is a difference; a temperature is written '50 degC'"
    if right.free and not left.free:
        return f". Write the number with its unit, {left.label}" if left.label else ""
    if left.powers == right.powers and right.offset is not None:
        return ". A difference is written in K"
    return ""
