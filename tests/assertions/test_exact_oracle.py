"""Random runs and formulas against the exact judge: outcome, margin and moment agree."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from harness.assertions import AssertionSpec, Outcome, compile_assertion
from tests.assertions.exact_judge import existence, invariant, response, scope_text, text

UNITS = {"x": "K", "y": "K", "b": "bool", "c": "bool"}
LEVELS = (-2.5, 0.5, 3.5)

atoms = st.one_of(
    st.tuples(st.sampled_from(["x<", "y>", "sum<", "abs<", "max<"]), st.sampled_from(LEVELS)),
    st.tuples(st.just("flag"), st.sampled_from("bc")),
)
formulas = st.recursive(
    atoms,
    lambda inner: st.one_of(
        st.tuples(st.sampled_from(["and", "or"]), inner, inner), st.tuples(st.just("not"), inner)
    ),
    max_leaves=4,
)
scopes = st.one_of(
    st.just(("all",)),
    st.sampled_from([(0, 30), (10, 200), (15, 37), (500, 600)]).map(lambda p: ("times", *p)),
    st.tuples(st.sampled_from(["while", "after", "before"]), atoms),
    st.tuples(st.just("between"), atoms, atoms),
)


def runs_of(value):
    row = st.fixed_dictionaries({"x": value, "y": value, "b": st.booleans(), "c": st.booleans()})
    steps = st.lists(st.tuples(st.sampled_from([0, 1, 10, 20]), row), min_size=1, max_size=8)
    return steps.map(_timed)


def _timed(steps):
    time, rows = 0, []
    for step, row in steps:
        time += step if rows else 0
        rows.append((time, {n: Fraction(v) if n in "xy" and v is not None else v for n, v in row.items()}))
    return rows


whole = st.integers(-6, 6)
known_runs = runs_of(whole)
patchy_runs = runs_of(st.one_of(whole, whole, whole, st.none()))


def verdict(rows, **keys):
    monitor = compile_assertion(AssertionSpec("t", **keys), UNITS)
    times = np.array([t for t, _ in rows], np.int64)
    columns = {n: np.array([math.nan if at[n] is None else float(at[n]) for _, at in rows]) for n in UNITS}
    monitor.chunk(times, columns)
    return monitor.finish(int(times[-1]), True)


def agree(found, expected):
    outcome, margin, broke = expected
    # At a margin of nothing the verdict hangs on one instant and on rounding.
    assume(margin is None or abs(margin) > 1e-9)
    assert found.outcome is outcome
    if outcome in (Outcome.MET, Outcome.BROKEN) and found.margin_unit != "s":
        if math.isfinite(margin):
            assert found.margin == pytest.approx(float(margin), abs=1e-9)
        else:
            assert found.margin is None
    if broke is not None:
        assert found.decided_ms == pytest.approx(float(broke), abs=0.51)


@settings(max_examples=150)
@given(rows=patchy_runs, f=formulas, scope=st.just(("all",)) | scopes.filter(lambda s: s[0] == "times"))
def test_always_with_missing_figures(rows, f, scope):
    agree(verdict(rows, always=text(f), while_=scope_text(scope)), invariant(rows, f, scope, 0))


@settings(max_examples=150)
@given(rows=known_runs, f=formulas, scope=scopes, grace=st.sampled_from([0, 5, 12]))
def test_always_and_never_in_a_scope(rows, f, scope, grace):
    expected = invariant(rows, f, scope, grace)
    keys = {"while_": scope_text(scope), "grace_ms": grace or None}
    agree(verdict(rows, always=text(f), **keys), expected)
    agree(verdict(rows, never=f"not ({text(f)})", **keys), expected)


@settings(max_examples=150)
@given(rows=known_runs, f=formulas, scope=scopes, grace=st.sampled_from([0, 5, 12]))
def test_sometime(rows, f, scope, grace):
    found = verdict(rows, sometime=text(f), while_=scope_text(scope), grace_ms=grace or None)
    agree(found, existence(rows, f, scope, grace))


@settings(max_examples=150)
@given(rows=patchy_runs, f=formulas)
def test_sometime_with_missing_figures(rows, f):
    agree(verdict(rows, sometime=text(f)), existence(rows, f, ("all",), 0))


@settings(max_examples=250)
@given(
    rows=known_runs,
    trigger=atoms,
    expect=atoms | st.tuples(st.just("and"), atoms, atoms),
    scope=scopes,
    within=st.sampled_from([0, 3, 10, 25]),
    lasting=st.sampled_from([0, 4, 10]),
)
def test_response(rows, trigger, expect, scope, within, lasting):
    expected = response(rows, trigger, expect, scope, within, lasting)
    found = verdict(
        rows,
        after=text(trigger),
        expect=text(expect),
        within_ms=within,
        held_ms=lasting or None,
        while_=scope_text(scope),
    )
    assume(expected[1] is None or expected[1] == 0 or abs(expected[1]) > 1e-9)
    assert found.outcome is expected[0]
    if expected[1] is not None:
        assert found.margin == pytest.approx(float(expected[1]), abs=1e-9)
