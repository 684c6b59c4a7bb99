"""What is said of a text that is no expression; every refusal points at a character."""

from __future__ import annotations

from collections.abc import Iterable

from harness.quantity import clip


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


def misfit(text: str, at: int, wanted: str) -> ExpressionError:
    """That what stands at character `at`, counted from 0, or the end there, is not what is `wanted`."""
    if at >= len(text):
        return ExpressionError(text, len(text) + 1, _ended(text, wanted))
    return ExpressionError(text, at + 1, _misfit(text[at:], wanted))


def near(name: str, known: Iterable[str]) -> str:
    """`. Did you mean 'x'?`, or nothing where no known name is close."""
    from difflib import get_close_matches  # wanted for a mistake alone

    found = get_close_matches(name, known, n=1, cutoff=0.6)
    return f". Did you mean '{found[0]}'?" if found else ""


def _ended(text: str, wanted: str) -> str:
    if not text.strip():
        return "the expression is empty. Write a condition such as 'liquor < 80 degC'"
    return f"the expression ends too early: {wanted} is missing"


def _misfit(rest: str, wanted: str) -> str:
    if rest[0] == "=":
        return "'=' is no comparison. Write '==' to compare"
    if rest[0] in "&|!^~":
        return f"{clip(rest[0])} is not used here. Write 'and', 'or', 'not'"
    if rest[0] in "“”\"'":
        return "an expression has no quotes. Write names and numbers as they are"
    word = rest[0] if rest[0].isspace() else rest.split()[0]
    return f"{clip(word)} does not fit here; {wanted} is wanted"
