"""Reads operators, operands and brackets into a tree, by operator precedence.

One loop instead of a function for each rule: what is still open is kept in lists, so a text may be nested as
deep as it is long. An operator waits until a looser one, or the end of its bracket, shows that its right side
is whole.
"""

from __future__ import annotations

from .scanner import OPERAND, OPERATOR, UNIT, Scanner
from .tree import Node, Word

_BINDING = {"or_": 1, "and_": 2, "not_": 3, "comparison": 4, "add": 5, "mul": 6, "sign": 7}

ANY, PART, SUM = _BINDING["or_"], _BINDING["not_"], _BINDING["add"]
"""The loosest operators that the rules of these names may hold."""


def read(words: Scanner, loosest: int) -> Node:
    """The longest part that comes, without operators looser than that outside of brackets.

    What comes behind it is left to the caller. ExpressionError where no part comes, or a bracket stays open.
    """
    brackets = [_Bracket(loosest, words.at)]
    node, start = _operand(words, brackets)
    while True:
        word, bracket = words.peek(OPERATOR), brackets[-1]
        if _BINDING.get(word.kind, 0) >= bracket.loosest:
            bracket.infix(word, node, start)
        else:
            node, start = bracket.joined(node, start)
            if len(brackets) == 1:
                return node
            if word.kind == "close":
                words.skip()
                node, start = brackets.pop().closed(node), bracket.start
                continue
            if word.kind != "comma" or bracket.function is None:
                words.refuse(closing(words))
            bracket.given.append(node)
        words.skip()
        node, start = _operand(words, brackets)


def closing(words: Scanner) -> str:
    """What is wanted where a bracket is open and what comes does not fit."""
    return "a ')'" if words.ended else "an operator or ')'"


def _operand(words: Scanner, brackets: list[_Bracket]) -> tuple[Node, int]:
    """The atom that comes, and its beginning; signs and brackets before it are put down as open."""
    while True:
        word = words.peek(OPERAND)
        if not word.kind:
            words.refuse("a signal, a number or '('")
        words.skip()
        if word.kind == "open":
            brackets.append(_Bracket(ANY, word.start))
        elif word.kind == "call":
            words.take(OPERAND, "open", "'('")
            brackets.append(_Bracket(ANY, word.start, word))
        elif word.kind == "sign":
            brackets[-1].prefix("sign", word)
        elif word.kind == "number":
            return _number(words, word), word.start
        elif word.text == "not" and brackets[-1].takes_condition():
            brackets[-1].prefix("not_", word)
        else:
            return Node("name", word.start, (word,), ()), word.start


def _number(words: Scanner, number: Word) -> Node:
    """A number by itself; or with a unit, and the further ones of `1 h 30 min`."""
    if not words.peek(UNIT).kind:
        return Node("number", number.start, (number,), ())
    parts = [number, words.take(UNIT, "unit", "a unit")]
    while (another := words.peek(OPERAND)).kind == "number":
        words.skip()
        parts += (another, words.take(UNIT, "unit", "a unit"))
    return Node("quantity", number.start, tuple(parts), ())


class _Operator:
    """An operator that waits for its right side: its words, and the children to the left of it."""

    def __init__(self, data: str, start: int) -> None:
        self.data, self.start = data, start
        self.words: list[Word] = []
        self.children: list[Node] = []

    def add(self, word: Word, *left: Node) -> None:
        if self.data in ("comparison", "add", "mul", "sign"):  # of the others there is but one
            self.words.append(word)
        self.children += left

    def node(self, last: Node) -> Node:
        return Node(self.data, self.start, tuple(self.words), (*self.children, last))


class _Bracket:
    """An open bracket, or the whole of what is read.

    `loosest` is the loosest operator it may hold; `start` where it begins, the name of its function included;
    `given` are the function's arguments before the one that is being read.
    """

    def __init__(self, loosest: int, start: int, function: Word | None = None) -> None:
        self.loosest, self.start, self.function = loosest, start, function
        self.given: list[Node] = []
        self._waiting: list[_Operator] = []

    def takes_condition(self) -> bool:
        """Whether `not` may come now."""
        return (_BINDING[self._waiting[-1].data] if self._waiting else self.loosest) <= PART

    def prefix(self, data: str, word: Word) -> None:
        self._waiting.append(_Operator(data, word.start))
        self._waiting[-1].add(word)

    def infix(self, word: Word, left: Node, start: int) -> None:
        """An operator behind `left`, which begins at `start`. Comparisons in a row make one node."""
        chain = word.kind == "comparison"
        left, start = self.joined(left, start, _BINDING[word.kind] + chain)
        if not (chain and self._waiting and self._waiting[-1].data == word.kind):
            self._waiting.append(_Operator(word.kind, start))
        self._waiting[-1].add(word, left)

    def joined(self, node: Node, start: int, binding: int = 0) -> tuple[Node, int]:
        """`node` as the end of all that waits and binds at least so tightly, and where that begins."""
        while self._waiting and _BINDING[self._waiting[-1].data] >= binding:
            operator = self._waiting.pop()
            node, start = operator.node(node), operator.start
        return node, start

    def closed(self, node: Node) -> Node:
        """What the bracket stands for, with `node` as its last part."""
        return Node("call", self.start, (self.function,), (*self.given, node)) if self.function else node
