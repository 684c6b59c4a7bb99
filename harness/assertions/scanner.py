"""The words of an expression, each read as what may stand at its place.

Place and word together say what it is, so that nothing is reserved that need not be:

- Where an operand is wanted, `and`, `min` and `K` are names like any other. `not` is none where a condition
  may begin; nor is the name of a function with its `(` in the same line.
- Behind an operand come only operators and brackets. So `a andb` is `a and b`.
- Behind a number every word is a unit, except `and`, `or` and `not`.

Between words there may be blanks, inside of them none.
"""

from __future__ import annotations

import re
from typing import NoReturn

from .refusal import misfit
from .tree import Word

FUNCTIONS = ("abs", "min", "max", "rises", "falls", "rate", "held", "known")

_BLANKS = " \t\r\n"


def _words(**kinds: str) -> re.Pattern[str]:
    """One word of these kinds, of the first that fits, and the blanks behind it."""
    ways = "|".join(f"(?P<{kind}>{word})" for kind, word in kinds.items())
    return re.compile(f"(?:{ways})[{_BLANKS}]*")


OPERAND = _words(
    call=rf"(?:{'|'.join(FUNCTIONS)})(?=[ \t]*\()",
    name=r"[A-Za-z_][A-Za-z0-9_]*(?:\.[A-Za-z0-9_]+)*",
    number=r"(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?",
    sign=r"[+-]",
    open=r"\(",
)
"""What may stand where an operand is wanted."""

OPERATOR = _words(
    comparison=r"[<>]=?|[=!]=", add=r"[+-]", mul=r"[*/]", and_="and", or_="or", comma=",", close=r"\)"
)
"""What may stand behind an operand."""

UNIT = _words(unit=r"(?!(?:and|or|not)\b)(?:%|°?[A-Za-zΩ][A-Za-z0-9_]*(?:/[A-Za-z]+)?)")
"""What may stand behind a number besides."""


class Scanner:
    """Reads one text word by word; the caller says at which place it is.

    Attributes
    ----------
    at : int
        Where the next word begins, counted in characters from 0; the length of the text at its end.
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self.at = self._behind = len(text) - len(text.lstrip(_BLANKS))

    def peek(self, place: re.Pattern[str]) -> Word:
        """The word that comes; of kind "" if nothing comes that may stand at this place."""
        found = place.match(self._text, self.at)
        self._behind = found.end() if found else self.at
        if found is None or found.lastgroup is None:
            return Word("", "", self.at)
        return Word(found.lastgroup, found[found.lastgroup], self.at)

    def skip(self) -> None:
        """Pass over the word that was last peeked at."""
        self.at = self._behind

    def take(self, place: re.Pattern[str], kind: str, wanted: str) -> Word:
        """The next word, passed over; ExpressionError where it is of another kind: `wanted` is missing."""
        word = self.peek(place)
        if word.kind != kind:
            self.refuse(wanted)
        self.skip()
        return word

    def refuse(self, wanted: str) -> NoReturn:
        """ExpressionError: `wanted` should come, and does not."""
        raise misfit(self._text, self.at, wanted)

    @property
    def ended(self) -> bool:
        return self.at == len(self._text)
