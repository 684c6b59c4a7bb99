"""From an expression's text to a tree, by lark; every refusal points at a character.

Lark is loaded at the first expression, not with this module.
"""

from __future__ import annotations

from difflib import get_close_matches
from functools import cache
from typing import TYPE_CHECKING, NoReturn

from harness.quantity import clip

if TYPE_CHECKING:
    from lark import Lark, Token, Tree
    from lark.exceptions import UnexpectedInput

LONGEST = 1000
"""Characters an expression may have."""

FUNCTIONS = ("abs", "min", "max", "rises", "falls", "rate", "held", "known")

STARTS = ("condition", "scope", "trigger", "figure", "bound")
"""What a text may be."""

_GRAMMAR = r"""
scope: "between" part "and" part   -> between
     | "before" or_                -> before
     | "after" or_                 -> since
     | or_
trigger: "at" sum                  -> at
       | or_
condition: or_
bound: sum
figure: NAME "(" or_ ("," or_)* ")"

?or_: and_ | or_ "or" and_         -> or_
?and_: part | and_ "and" part      -> and_
?part: "not" part                  -> not_
     | comparison
?comparison: sum (COMPARE sum)*
?sum: product | sum ADD product    -> add
?product: factor | product MUL factor -> mul
?factor: ADD factor                -> sign
       | atom
?atom: NUMBER                      -> number
     | NUMBER UNIT (NUMBER UNIT)*  -> quantity
     | NAME                        -> name
     | FUNCTION "(" or_ ("," or_)* ")" -> call
     | "(" or_ ")"

COMPARE: "<=" | ">=" | "==" | "!=" | "<" | ">"
ADD: "+" | "-"
MUL: "*" | "/"
FUNCTION.2: /(abs|min|max|rises|falls|rate|held|known)(?=[ \t]*\()/
NAME: /[A-Za-z_][A-Za-z0-9_]*(\.[A-Za-z0-9_]+)*/
NUMBER: /(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?/
UNIT: /(?!(and|or|not)\b)(%|°?[A-Za-zΩ][A-Za-z0-9_]*(\/[A-Za-z]+)?)/
%ignore /[ \t\r\n]+/
"""


class ExpressionError(ValueError):
    """A text that is no expression, or one that makes no sense.

    Attributes
    ----------
    text : str
        The whole expression.
    column : int
        Where it goes wrong, counted in characters from 1.
    what : str
        What is wrong, in one sentence with its mend.
    """

    def __init__(self, text: str, column: int, what: str) -> None:
        self.text, self.column, self.what = text, column, what
        super().__init__(f"column {column}: {what}{self._picture()}")

    def _picture(self) -> str:
        """The text and a caret under the character, where that fits on a line."""
        if not 0 < len(self.text) <= 90 or not self.text.isprintable():
            return ""
        return f"\n    {self.text}\n    {' ' * (self.column - 1)}^"


def parse(text: str, start: str) -> Tree[Token]:
    """The tree of one of `STARTS`; ExpressionError when the text is none."""
    from lark.exceptions import UnexpectedInput

    if len(text) > LONGEST:
        raise ExpressionError(text, LONGEST + 1, f"is longer than {LONGEST} characters. Split the assertion")
    try:
        return _parser().parse(text, start=start)
    except UnexpectedInput as slip:
        _explain(text, slip)


def near(name: str, known: list[str]) -> str:
    """`. Did you mean 'x'?`, or nothing where no known name is close."""
    found = get_close_matches(name, known, n=1, cutoff=0.6)
    return f". Did you mean '{found[0]}'?" if found else ""


@cache
def _parser() -> Lark:
    from lark import Lark

    return Lark(_GRAMMAR, parser="lalr", start=list(STARTS), propagate_positions=True)


def _explain(text: str, slip: UnexpectedInput) -> NoReturn:
    from lark.exceptions import UnexpectedCharacters, UnexpectedToken

    column = len(text) + 1
    if isinstance(slip, UnexpectedCharacters):
        column = int(slip.pos_in_stream or 0) + 1
    elif isinstance(slip, UnexpectedToken) and slip.token.type != "$END":
        column = int(slip.token.start_pos or 0) + 1
    raise ExpressionError(text, column, _what(text, column)) from None


def _what(text: str, column: int) -> str:
    rest = text[column - 1 :]
    if not text.strip():
        return "the expression is empty. Write a condition such as 'liquor < 80 degC'"
    if not rest.strip():
        return "the expression ends too early" + _unclosed(text)
    if rest[0] == "=":
        return "'=' is no comparison. Write '==' to compare"
    if rest[0] in "&|!^~":
        return f"{clip(rest[0])} is not used here. Write 'and', 'or', 'not'"
    if rest[0] in "“”\"'":
        return "an expression has no quotes. Write names and numbers as they are"
    word = rest.split()[0]
    return f"{clip(word)} does not fit here"


def _unclosed(text: str) -> str:
    return ": a ')' is missing" if text.count("(") > text.count(")") else ""
