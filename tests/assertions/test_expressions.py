"""Expressions: what is accepted, what is refused and where the refusal points, truth row by row."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.assertions import Expression, ExpressionError, compile_expression
from harness.assertions.grammar import LONGEST

UNITS = {
    "liquor": "degC",
    "mash": "degC",
    "volume": "L",
    "flame": "bool",
    "gas_valve": "bool",
    "unburned_gas": "%",
    "heat": "kW",
    "stored": "J",
    "tries": "count",
    "duty": "permille",
    "in.liquor": "degC",
    "out.stage": "count",
}


def truth(text, **row):
    """Truth of one row; `in.liquor` is given as in_liquor."""
    values = {name.replace("in_", "in.").replace("out_", "out."): float(value) for name, value in row.items()}
    return compile_expression(text, UNITS).now(values.__getitem__)


@pytest.mark.parametrize(
    ("text", "row", "expected"),
    [
        ("liquor > 50 degC", {"liquor": 50.1}, True),
        ("liquor > 50 degC", {"liquor": 50.0}, False),
        ("liquor >= 50 degC", {"liquor": 50.0}, True),
        ("liquor < 152 degF", {"liquor": 66.6}, True),
        ("liquor < 152 degF", {"liquor": 66.7}, False),
        ("50 degC < liquor <= 60 degC", {"liquor": 60.0}, True),
        ("50 degC < liquor <= 60 degC", {"liquor": 50.0}, False),
        ("liquor > -5 degC", {"liquor": -4.9}, True),
        ("liquor - mash < 2 K", {"liquor": 66.0, "mash": 64.5}, True),
        ("liquor - mash < 3.6 delta_degF", {"liquor": 66.0, "mash": 64.1}, True),
        ("liquor > mash + 2 K", {"liquor": 66.0, "mash": 64.1}, False),
        ("2 K + mash < liquor", {"liquor": 66.2, "mash": 64.1}, True),
        ("liquor - 2 K > 60 degC", {"liquor": 62.5}, True),
        ("abs(liquor - mash) < 1 K", {"liquor": 60.0, "mash": 61.5}, False),
        ("min(liquor, mash) > 60 degC", {"liquor": 60.5, "mash": 61.5}, True),
        ("max(liquor, mash, 65 degC) < 66 degC", {"liquor": 60.5, "mash": 61.5}, True),
        ("flame", {"flame": 1}, True),
        ("not flame", {"flame": 1}, False),
        ("not flame or gas_valve", {"flame": 1, "gas_valve": 0}, False),
        ("flame and not gas_valve", {"flame": 1, "gas_valve": 0}, True),
        ("flame or gas_valve and not flame", {"flame": 1, "gas_valve": 0}, True),
        ("(flame or gas_valve) and not flame", {"flame": 1, "gas_valve": 0}, False),
        ("not (flame and gas_valve)", {"flame": 1, "gas_valve": 0}, True),
        ("flame == 1", {"flame": 1}, True),
        ("flame != gas_valve", {"flame": 1, "gas_valve": 0}, True),
        ("flame + gas_valve < 2", {"flame": 1, "gas_valve": 0}, True),
        ("tries <= 3", {"tries": 3}, True),
        ("out.stage == 4", {"out_stage": 4}, True),
        ("unburned_gas < 25 %", {"unburned_gas": 24}, True),
        ("duty > 50 %", {"duty": 499}, False),
        ("duty == 1000 permille", {"duty": 1000}, True),
        ("heat > 500 W", {"heat": 0.6}, True),
        ("heat * 50 % > 4 kW", {"heat": 9.0}, True),
        ("2 * heat / 3 < 6 kW", {"heat": 9.0}, False),
        ("-heat < 0 kW", {"heat": 9.0}, True),
        ("heat * 1 h > 8 kWh", {"heat": 9.0}, True),
        ("stored / 10 s > 1 W", {"stored": 11.0}, True),
        ("heat / heat == 1 or heat / heat < 2", None, None),
        ("volume > 5 gal", {"volume": 18.9}, False),
        ("known(in.liquor)", {"in_liquor": math.nan}, False),
        ("known(in.liquor) and in.liquor > 5 degC", {"in_liquor": math.nan}, False),
        ("in.liquor > 5 degC or flame", {"in_liquor": math.nan, "flame": 1}, True),
        ("in.liquor > 5 degC", {"in_liquor": math.nan}, False),
        ("not in.liquor > 5 degC", {"in_liquor": math.nan}, False),
        ("heat / (liquor - mash) > 1 kW/K", {"heat": 1, "liquor": 60, "mash": 60}, False),
    ],
)
def test_truth_of_one_row(text, row, expected):
    if row is None:
        with pytest.raises(ExpressionError, match="changes smoothly"):
            truth(text)
        return
    assert truth(text, **row) is expected


REFUSED = [
    ("", 1, "empty"),
    ("liquor > 3 L", 10, r"a temperature \[degC\] cannot be compared \('>'\) with a volume \[L\]"),
    ("3 L < liquor", 7, r"a volume \[L\] cannot be compared"),
    ("liqour > 50 degC", 1, "Did you mean 'liquor'"),
    ("flame and in.liqour > 5 degC", 11, "Did you mean 'in.liquor'"),
    ("liquor > 50", 10, "Write the number with its unit, degC"),
    ("unburned_gas < 0.25", 16, "Write the number with its unit, %"),
    ("duty > 0", 8, "Write the number with its unit, permille"),
    ("tries > 3 K", 9, "cannot be compared"),
    ("liquor > 50 K", 10, "K is a difference"),
    ("liquor - mash > 2 degC", 17, "A difference is written in K"),
    ("liquor > 50 degX", 10, "did you mean 'degC'"),
    ("liquor > 50 min 5 degC", 10, "Only times"),
    ("tries > 1e400", 9, "beyond the largest number"),
    ("liquor + mash > 50 degC", 1, "two temperatures cannot be added"),
    ("liquor * 2 > 50 degC", 1, "cannot be multiplied"),
    ("-liquor < 50 degC", 2, "cannot be negated"),
    ("abs(liquor) < 50 degC", 5, "no absolute value"),
    ("liquor + 3 L > 50 degC", 10, "cannot be added to"),
    ("min(liquor, 3 L) > 50 degC", 13, "cannot be ranked with"),
    ("min(liquor) > 50 degC", 1, "two numbers or more"),
    ("liquor", 1, "no yes-or-no signal, its unit is degC"),
    ("5 degC", 1, "a condition is wanted here"),
    ("not tries", 5, "no yes-or-no signal"),
    ("(flame or gas_valve) > 2", 2, "is a condition; a number is wanted"),
    ("rises(liquor)", 7, "no yes-or-no signal"),
    ("rises(flame, 5 s)", 1, "takes one argument"),
    ("held(flame)", 1, "takes a condition and a time"),
    ("held(flame, 5 K)", 13, "a time is wanted here"),
    ("rate(tries) > 2", 6, "has no rate"),
    ("rate(in.liquor) > 2 K/s", 6, "has no rate"),
    ("rate(liquor) > 2 K", 16, "cannot be compared"),
    ("liquor == 50 degC", 8, "changes smoothly"),
    ("liquor = 50 degC", 8, "Write '=='"),
    ("flame & gas_valve", 7, "Write 'and', 'or', 'not'"),
    ("flame and", 10, "ends too early"),
    ("(flame", 7, r"a '\)' is missing"),
    ("flame)", 6, r"'\)' does not fit here; an operator or the end is wanted"),
    ("flame and )", 11, r"'\)' does not fit here; a signal, a number or '\(' is wanted"),
    ("(flame gas_valve)", 8, r"an operator or '\)' is wanted"),
    ("liquor > 50 min 5", 18, "a unit is missing"),
    ("flame\xa0", 6, r"'\\xa0' does not fit here"),
    ('"flame"', 1, "no quotes"),
    ("held", 1, "is a function"),
    ("flame gas_valve", 7, "'gas_valve' does not fit here"),
    ("not " * 100 + "flame", 237, "nested more than"),
    ("f" * (LONGEST + 1), LONGEST + 1, "longer than"),
]


@pytest.mark.parametrize(("text", "column", "said"), REFUSED)
def test_refusal_points_at_the_character(text, column, said):
    with pytest.raises(ExpressionError, match=said) as caught:
        compile_expression(text, UNITS)
    assert caught.value.column == column
    assert str(caught.value).startswith(f"column {column}: ")


def test_a_refusal_draws_a_caret():
    with pytest.raises(ExpressionError) as caught:
        compile_expression("flame and liqour > 5 degC", UNITS)
    first, text, caret = str(caught.value).split("\n")
    assert first.endswith("Did you mean 'liquor'?")
    assert caret.index("^") == text.index("liqour")


words = st.sampled_from(
    [
        *UNITS, "and", "or", "not", "(", ")", "<", ">=", "==", "5", "1e400", "50 degC", "K", "%", "min", "-",
        "+", "*", "/", "held(", "rises(", "rate(", "abs(", ",", "5 s", "at", "between", ".", "°C",
        "\n", "x" * 50,
    ]
)  # fmt: skip


def made_or_refused(text):
    try:
        return compile_expression(text, UNITS)
    except ExpressionError as slip:
        return slip


@given(st.text(max_size=60) | st.lists(words, max_size=12).map(" ".join))
def test_any_text_gives_an_expression_or_a_position(text):
    made = made_or_refused(text)
    if isinstance(made, Expression):
        assert set(made.names) <= set(UNITS)
    else:
        assert 1 <= made.column <= len(text) + 1
        assert made.text == text


def test_a_device_figure_is_not_checked_before_the_device_is_known():
    made = compile_expression("in.kettle > 5 degC and tell.fault == 3", UNITS, ("in.", "tell."))
    assert made.names == ("in.kettle", "tell.fault")
    with pytest.raises(ExpressionError, match=r"no signal is called 'in\.kettle'"):
        compile_expression("in.kettle > 5 degC", UNITS)


def test_rows_one_by_one_remember_edges_rates_and_durations():
    rows = [(0, 0, 20), (1000, 1, 21), (2000, 1, 23), (3000, 1, 23), (4000, 0, 23)]
    texts = {
        "rises(flame)": [0, 1, 0, 0, 0],
        "falls(flame)": [0, 0, 0, 0, 1],
        "held(flame, 2 s)": [0, 0, 0, 1, 0],
        "rate(liquor) > 90 K/min": [0, 0, 1, 0, 0],
    }
    for text, expected in texts.items():
        made = compile_expression(text, UNITS)
        found = [made.now({"flame": f, "liquor": x}.__getitem__, t) for t, f, x in rows]
        assert found == [bool(e) for e in expected], text


def test_a_chunk_gives_the_truth_of_each_row():
    made = compile_expression("liquor > 50 degC", UNITS)
    times = np.array([0, 100, 100, 200])
    truth_of_rows = made.chunk(times, {"liquor": np.array([40.0, 60.0, 45.0, math.nan])})
    assert truth_of_rows.tolist() == [-1, -1, -1, 0]
    assert made.chunk(times[:0], {"liquor": np.empty(0)}).tolist() == []
