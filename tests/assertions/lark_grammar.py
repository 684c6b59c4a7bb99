"""The grammar of expressions as lark reads it: an oracle for harness/assertions/grammar.py.

An LALR(1) table with a contextual lexer, which knows nothing of how our own parser goes about it.
"""

from functools import cache

from lark import Lark, Token
from lark.exceptions import UnexpectedInput

from harness.assertions.grammar import STARTS

GRAMMAR = r"""
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


@cache
def _lark():
    return Lark(GRAMMAR, parser="lalr", start=list(STARTS), propagate_positions=True)


def outcome(text, start):
    """The tree as rows of (depth, what, where it begins), from the root on; a refusal's column, from 1."""
    try:
        tree = _lark().parse(text, start=start)
    except UnexpectedInput as slip:
        # pos_in_stream is that of the last word where the text ends too early.
        return 1 + (len(text) if _at_end(slip) else slip.pos_in_stream)
    rows, left = [], [(0, tree)]
    while left:
        depth, one = left.pop()
        if isinstance(one, Token):
            rows.append((depth, str(one), one.start_pos))
        else:
            rows.append((depth, str(one.data), one.meta.start_pos))
            left += [(depth + 1, child) for child in reversed(one.children)]
    return rows


def _at_end(slip):
    return getattr(slip, "token", None) is not None and slip.token.type == "$END"
