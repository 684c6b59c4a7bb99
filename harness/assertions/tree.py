"""The tree of an expression: what a text says, before its names and units are looked at."""

from __future__ import annotations

from typing import NamedTuple


class Word(NamedTuple):
    """A word of the text: a name, a number, a unit, an operator or a bracket.

    Attributes
    ----------
    kind : str
        What it is at its place, by the names that `scanner` gives.
    text : str
    start : int
        Where it begins in the text, counted in characters from 0.
    """

    kind: str
    text: str
    start: int


class Node(NamedTuple):
    """A part of an expression.

    Attributes
    ----------
    data : str
        Which rule made it, as `grammar` lists them.
    start : int
        Where it begins in the text, counted in characters from 0; brackets around it are no part of it.
    words : tuple of Word
        Its own words in the order of the text: of `a < b <= c` the two signs, of a call the function's name.
    children : tuple of Node
        Its parts in the order of the text.
    """

    data: str
    start: int
    words: tuple[Word, ...]
    children: tuple[Node, ...]
