"""The parser beside lark's: the same texts taken, the same trees, refusals at the same character."""

import tomllib
from contextlib import suppress

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from harness.assertions import ExpressionError, compile_expression
from harness.assertions.grammar import LONGEST, STARTS, parse
from harness.assertions.spec import TEXT_KEYS
from harness.assertions.tree import Node
from harness.scenario.requirement_set import examples_of, read_set, set_path, shipped_sets
from harness.shipped import shipped
from tests.assertions.lark_grammar import outcome

KEYWORDS = ["and", "or", "not", "between", "before", "after", "at"]
CALLS = ["abs(", "min(", "max (", "rises(", "falls(", "rate\t(", "held(", "known("]
NAMES = ["a", "liquor", "in.liquor", "out.x.1", "_", "e5", "K", "min", "rate", "andy", "notes", "atom"]
NUMBERS = ["5", "05", "0.5", ".5", "5.", "1e3", "2E-4", "1.5e+3", "٣"]
UNITS = ["K", "degC", "°C", "%", "min", "s", "h", "K/min", "Ω", "at", "before", "and_", "order", "l9_/h"]
SIGNS = ["<", "<=", "==", "!=", ">", ">=", "+", "-", "*", "/", "(", ")", ","]
ODD = [*"=!&|^.°Ωé“'½²𝟓", "..", "1e", "\x00", "\xa0", "\x0b", "{a}"]


def ours(text, start):
    """What `outcome` says of lark, of our parser."""
    try:
        tree = parse(text, start)
    except ExpressionError as slip:
        return slip.column
    rows, left = [], [(0, tree)]
    while left:
        depth, one = left.pop()
        if isinstance(one, Node):
            rows.append((depth, one.data, one.start))
            parts = sorted((*one.words, *one.children), key=lambda part: part.start, reverse=True)
            left += [(depth + 1, part) for part in parts]
        else:
            assert text.startswith(one.text, one.start)
            rows.append((depth, one.text, one.start))
    return rows


def same(text):
    """Whether it is taken as any of the starts, by both alike."""
    found = {start: ours(text, start) for start in STARTS}
    assert found == {start: outcome(text, start) for start in STARTS}
    return found


# Texts made from the grammar, as lists of words


@st.composite
def numbers(draw, depth):
    kind = draw(st.sampled_from(["name", "number", "quantity", "infix", "sign", "bracket", "call"]))
    if kind == "name" or (depth <= 0 and kind not in ("number", "quantity")):
        return [draw(st.sampled_from([*NAMES, "and", "or", "before", "at"]))]
    if kind == "number":
        return [draw(st.sampled_from(NUMBERS))]
    if kind == "quantity":
        pairs = st.tuples(st.sampled_from(NUMBERS), st.sampled_from(UNITS))
        return [word for pair in draw(st.lists(pairs, min_size=1, max_size=3)) for word in pair]
    if kind == "infix":
        sign = draw(st.sampled_from("+-*/"))
        return [*draw(numbers(depth - 1)), sign, *draw(numbers(depth - 1))]
    if kind == "sign":
        return [draw(st.sampled_from("+-")), *draw(numbers(depth - 1))]
    if kind == "bracket":
        return ["(", *draw(conditions(depth - 1)), ")"]
    return [draw(st.sampled_from(CALLS)), *draw(arguments(depth - 1)), ")"]


@st.composite
def conditions(draw, depth):
    kind = draw(st.sampled_from(["number", "infix", "not", "comparison"]))
    if kind == "number" or depth <= 0:
        return draw(numbers(depth))
    if kind == "infix":
        sign = draw(st.sampled_from(["and", "or"]))
        return [*draw(conditions(depth - 1)), sign, *draw(conditions(depth - 1))]
    if kind == "not":
        return ["not", *draw(conditions(depth - 1))]
    words = draw(numbers(depth - 1))
    for sign in draw(st.lists(st.sampled_from(SIGNS[:6]), min_size=1, max_size=3)):
        words = [*words, sign, *draw(numbers(depth - 1))]
    return words


@st.composite
def arguments(draw, depth):
    words = draw(conditions(depth))
    for _ in range(draw(st.integers(0, 2))):
        words = [*words, ",", *draw(conditions(depth))]
    return words


@st.composite
def parts(draw, depth):
    """What may stand on both sides of the `and` of `between`."""
    negated = ["not"] * draw(st.integers(0, 2))
    sides = [draw(numbers(depth)) for _ in range(draw(st.integers(1, 3)))]
    return [*negated, *sides[0], *(word for side in sides[1:] for word in ("<", *side))]


@st.composite
def made(draw, depth=4):
    """A start, and the words of a text that is one."""
    start = draw(st.sampled_from(STARTS))
    if start == "figure":
        name = draw(st.sampled_from([*NAMES, "and", "not"]))
        return start, [name, "(", *draw(arguments(depth)), ")"]
    if start == "bound":
        return start, draw(numbers(depth))
    forms = {"scope": ["between", "before", "after", ""], "trigger": ["at", ""]}.get(start, [""])
    form = draw(st.sampled_from(forms))
    if form == "between":
        return start, [form, *draw(parts(depth)), "and", *draw(parts(depth))]
    if form == "at":
        return start, [form, *draw(numbers(depth))]
    words = draw(conditions(depth))
    if form:
        return start, [form, *words]
    return start, ["(", *words, ")"] if words[0] in forms else words


WORDY = "._%°Ω/"
blanks = st.sampled_from([" "] * 6 + ["", "  ", "\n", "\t", "\r\n "])


def fits(left, right):
    """Whether two words stay two without a blank between them."""
    return not ((left[-1].isalnum() or left[-1] in WORDY) and (right[0].isalnum() or right[0] in WORDY))


@st.composite
def joined(draw, words):
    text = draw(blanks)
    for left, right in zip(words, [*words[1:], "("], strict=True):
        text += left + (draw(blanks) if fits(left, right) else draw(blanks) or " ")
    return text


@st.composite
def spoiled(draw):
    """A text of the grammar with a few words or characters taken out, put in, or cut off behind."""
    text = draw(made(3).flatmap(lambda one: joined(one[1])))
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, len(text)))
        until = at + draw(st.sampled_from([0, 0, 1, 1, 2, 5, len(text)]))
        text = text[:at] + draw(st.just("") | soup_words) + text[until:]
    return text


soup_words = st.sampled_from([*KEYWORDS, *CALLS, *NAMES, *NUMBERS, *UNITS, *SIGNS, *ODD])
soup = st.lists(st.tuples(soup_words, blanks).map("".join), max_size=14).map("".join)


@given(made().flatmap(lambda one: st.tuples(st.just(one[0]), joined(one[1]))))
def test_what_the_grammar_makes_is_taken(one):
    start, text = one
    assume(len(text) <= LONGEST)
    assert isinstance(same(text)[start], list)


@given(spoiled() | soup | st.text(max_size=20))
def test_any_text_is_taken_or_refused_alike(text):
    same(text[:LONGEST])


HARD = [
    "", "  ", "a b", "a)", "(a", "(a b)", "(a, b)", "()", "f()", "f(a", "f(a)b", "f(a,)", "abs(a)(b)",
    "min\n(a)", "min \t(a)", "not(a)", "a not b", "5 < not a", "5 < not", "-not", "and(a)", "a and",
    "a or orb", "a.5", "a .5", "x..a", "x.", "5.5.5", "5 not", "5 and", "5 andb", "5 and_", "5 orΩ",
    "5 notK a", "5 min 3", "5 min 3 and a", "5 min -3", "5 min(a)", "5 K/min", "5 K/ min", "5 K/5", "5 °C",
    "5 °", "° 5", "% 5", "5 % % 5", "5e", "5e+", "٣K", "a <= = b", "a = b", "a < b < c", "(a < b) < c",
    "a < (b) < c", "- -a * +b", "-(a) - b", "((a + b)) * c", "at 5 s", "at not a", "at a < b", "at (a < b)",
    "at at", "at", "before", "before a or b", "after not a", "between a and b", "between a or b and c",
    "between a and b or c", "between a and b and c", "between a andb", "between not a and not b",
    "between (a or b) and c < d", "between", "between a", "between a and", "a\x0b", "\xa0a",
]  # fmt: skip


@pytest.mark.parametrize("text", HARD)
def test_a_hard_text_is_taken_or_refused_alike(text):
    same(text)


@pytest.mark.parametrize(
    ("text", "start", "like"),
    [
        ("a andb", "condition", "a and b"),
        ("a or and", "condition", "a or (and)"),
        ("not andy", "condition", "not (andy)"),
        ("min < K", "condition", "(min) < (K)"),
        ("5min<max (a , b)", "condition", "(5 min) < (max(a,b))"),
        ("-a * b + c < d == e", "condition", "(((-a) * b) + c) < d == e"),
        ("not a < b and c or d", "condition", "((not (a < b)) and c) or d"),
        ("between not a and b < c", "scope", "between (not a) and (b < c)"),
        ("at at", "trigger", "at (at)"),
    ],
)
def test_words_are_what_their_place_says(text, start, like):
    same(text)
    assert shape(text, start) == shape(like, start)


def shape(text, start):
    """The tree without where anything stands."""
    return [row[:2] for row in ours(text, start)]


DEEP = [
    "(" * LONGEST,
    "(" * 500 + "a" + ")" * 499,
    "(" * 499 + "a" + ")" * 499,
    "not " * 249 + "a",
    "not " * 250,
    "- " * 499 + "a",
    "-" * 999 + "a",
    "abs(" * 199 + "a" + ")" * 199,
    "abs(" * 250,
    "a or (" * 142 + "a" + ")" * 142,
    "not (" * 166 + "a" + ")" * 166,
    "a+" * 499 + "a",
    "a<" * 499 + "a",
    "a or " * 199 + "a",
    "f(" + "a," * 498 + "a)",
    "1s" * 500,
    "1 s " * 249 + "1",
    "between " + "(" * 400 + "a" + ")" * 400 + " and a",
    "a" + " " * 998 + "b",
    "min" + " " * 997,
    "1." * 500,
]


@pytest.mark.parametrize("text", DEEP, ids=lambda text: text[:12].strip())
def test_a_text_may_be_nested_as_deep_as_it_is_long(text):
    assert len(text) <= LONGEST
    same(text)
    with suppress(ExpressionError):  # and nothing else
        compile_expression(text, {"a": "bool"})


def shipped_texts():
    """Every text of the ready scenarios and sets that may hold an expression."""
    tables = []
    for path in sorted(shipped("scenarios").rglob("*.toml")):
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        tables += [*data.get("assertion", []), *data.get("disturbance", [])]
    for name in shipped_sets():
        one = read_set(*set_path(name, shipped("scenarios")))
        tables += [one.filled(at, examples_of(one)) for at in range(len(one.raw))]
    keys = (*TEXT_KEYS, "at_least", "at_most", "when")
    return sorted({text for table in tables for key in keys if isinstance(text := table.get(key), str)})


def test_the_ready_scenarios_are_read_alike():
    texts = shipped_texts()
    assert len(texts) > 200
    for text in texts:
        taken = any(isinstance(found, list) for found in same(text).values())
        assert taken or "{" in text  # a place of a set, not yet filled
