"""From an expression's text to a tree. The grammar, from what binds loosest to what binds tightest:

    scope      = "between" part "and" part         between(part, part)
               | "before" any                      before(any)
               | "after" any                       since(any)
               | any                               scope(any)
    trigger    = "at" sum                          at(sum)
               | any                               trigger(any)
    condition  = any                               condition(any)
    bound      = sum                               bound(sum)
    figure     = NAME arguments                    figure(any, …)

    any        = [ any "or" ] all                  or_(any, all)
    all        = [ all "and" ] part                and_(all, part)
    part       = "not" part                        not_(part)
               | comparison
    comparison = sum { COMPARISON sum }            comparison(sum, sum, …)
    sum        = [ sum ( "+" | "-" ) ] product     add(sum, product)
    product    = [ product ( "*" | "/" ) ] factor  mul(product, factor)
    factor     = ( "+" | "-" ) factor              sign(factor)
               | atom
    atom       = NUMBER                            number()
               | NUMBER UNIT { NUMBER UNIT }       quantity()
               | NAME                              name()
               | FUNCTION arguments                call(any, …)
               | "(" any ")"
    arguments  = "(" any { "," any } ")"

To the right stands the `tree.Node` that is made; a rule that finds no operator makes none. This module reads
what a text may be as a whole, `operators` all from `any` down, and `scanner` the words.
"""

from __future__ import annotations

from collections.abc import Mapping

from .operators import ANY, PART, SUM, closing, read
from .refusal import ExpressionError
from .scanner import OPERAND, OPERATOR, Scanner
from .tree import Node

LONGEST = 1000
"""Characters an expression may have."""

STARTS = ("condition", "scope", "trigger", "figure", "bound")
"""What a text may be."""

# Start -> the word it begins with, "" for any other -> its node, and the loosest operator of each part.
_FORMS: Mapping[str, Mapping[str, tuple[str, tuple[int, ...]]]] = {
    "condition": {"": ("condition", (ANY,))},
    "scope": {
        "between": ("between", (PART, PART)),
        "before": ("before", (ANY,)),
        "after": ("since", (ANY,)),
        "": ("scope", (ANY,)),
    },
    "trigger": {"at": ("at", (SUM,)), "": ("trigger", (ANY,))},
    "bound": {"": ("bound", (SUM,))},
}

_BRACKETS = "( ) around what it joins"


def parse(text: str, start: str) -> Node:
    """The tree of one of `STARTS`; ExpressionError when the text is none."""
    if len(text) > LONGEST:
        raise ExpressionError(text, LONGEST + 1, f"is longer than {LONGEST} characters. Split the assertion")
    words = Scanner(text)
    tree = _figure(words) if start == "figure" else _form(words, start)
    if not words.ended:
        words.refuse("an operator or the end")
    return tree


def _form(words: Scanner, start: str) -> Node:
    forms, first = _FORMS[start], words.peek(OPERAND)
    data, (loosest, *others) = forms.get(first.text, forms[""])
    if first.kind and first.text in forms:
        words.skip()
    parts = [read(words, loosest)]
    for other in others:
        joint = words.peek(OPERATOR).kind == "or_"
        words.take(OPERATOR, "and_", _BRACKETS if joint else "'and'")
        parts.append(read(words, other))
    if others and words.peek(OPERATOR).kind in ("and_", "or_"):
        words.refuse(_BRACKETS)
    return Node(data, first.start, (), tuple(parts))


def _figure(words: Scanner) -> Node:
    name = words.peek(OPERAND)
    if name.kind not in ("name", "call"):
        words.refuse("the name of a figure")
    words.skip()
    words.take(OPERAND, "open", "'('")
    given = [read(words, ANY)]
    while words.peek(OPERATOR).kind == "comma":
        words.skip()
        given.append(read(words, ANY))
    words.take(OPERATOR, "close", closing(words))
    return Node("figure", name.start, (name,), tuple(given))
