"""What is counted and measured, against the exact judge on random runs: outcome and margin agree."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from harness.assertions import Outcome
from tests.assertions import exact_figures as exact
from tests.assertions.exact_judge import scope_text, text
from tests.assertions.test_exact_oracle import LEVELS, atoms, formulas, known_runs, scopes, verdict

graces = st.sampled_from([0, 5, 12])


def agree(found, openings, bound, upper):
    """`openings`: each figure and whether it counts."""
    margins = [float(bound - value if upper else value - bound) for value, counts in openings if counts]
    assume(all(abs(margin) > 1e-9 for margin in margins))
    if not margins:
        assert found.outcome is Outcome.NOT_EXERCISED
        return
    assert found.outcome is (Outcome.MET if min(margins) > 0 else Outcome.BROKEN)
    assert found.margin == pytest.approx(min(margins), abs=1e-9)


def keys_of(scope, grace, **keys):
    return {"while_": scope_text(scope), "grace_ms": grace or None, **keys}


@settings(max_examples=150)
@given(rows=known_runs, f=formulas, scope=scopes, grace=graces, k=st.sampled_from([0.5, 1.5, 2.5]))
def test_bounded_existence(rows, f, scope, grace, k):
    openings = exact.count(rows, f, scope, grace)
    most = verdict(rows, **keys_of(scope, grace, count=text(f), at_most=str(int(k))))
    least = verdict(rows, **keys_of(scope, grace, count=text(f), at_least=str(int(k) + 1)))
    for found, bound, upper in ((most, int(k), True), (least, int(k) + 1, False)):
        margins = [bound - n if upper else n - bound for n, _ in openings]
        if margins:
            assert found.margin == min(margins)
        assert found.outcome is _of(margins)


def _of(margins):
    return Outcome.NOT_EXERCISED if not margins else Outcome.MET if min(margins) >= 0 else Outcome.BROKEN


@settings(max_examples=150)
@given(rows=known_runs, f=formulas, scope=scopes, grace=graces, limit=st.sampled_from([1.5, 7.5, 19.5]))
def test_durations(rows, f, scope, grace, limit):
    bound = {"at_most": f"{limit} ms"}
    each = verdict(rows, **keys_of(scope, grace, each=text(f), **bound))
    agree(each, exact.longest(rows, f, scope, grace, each=True), limit / 1000, True)
    figure = verdict(rows, **keys_of(scope, grace, figure=f"longest({text(f)})", **bound))
    agree(figure, exact.longest(rows, f, scope, grace), limit / 1000, True)
    least = verdict(rows, **keys_of(scope, grace, each=text(f), at_least=f"{limit} ms"))
    agree(least, exact.shortest(rows, f, scope, grace), limit / 1000, False)


@settings(max_examples=150)
@given(rows=known_runs, f=formulas, scope=scopes, grace=graces, within=st.sampled_from([3, 11, 25]))
def test_bounded_recurrence(rows, f, scope, grace, within):
    found = verdict(rows, **keys_of(scope, grace, again=text(f), within_ms=within))
    agree(found, exact.absent(rows, f, scope, grace, within), within / 1000, True)


@settings(max_examples=200)
@given(rows=known_runs, event=atoms, leave=atoms, scope=scopes, grace=graces)
def test_precedence(rows, event, leave, scope, grace):
    slacks = exact.precedence(rows, event, leave, scope, grace)
    found = verdict(rows, **keys_of(scope, grace, before=text(event), expect=text(leave)))
    assert found.exercised == len(slacks)
    if slacks:
        assert found.margin == pytest.approx(float(min(slacks)), abs=1e-9)
    if not slacks or min(slacks) != 0:
        assert found.outcome is _of(slacks)


@settings(max_examples=150)
@given(
    rows=known_runs,
    kind=st.sampled_from(["overshoot", "undershoot", "worst_error"]),
    target=st.sampled_from(LEVELS),
    scope=scopes,
    grace=graces,
)
def test_peaks(rows, kind, target, scope, grace):
    found = verdict(rows, **keys_of(scope, grace, figure=f"{kind}(x, {target} K)", at_most="2.25 K"))
    agree(found, exact.peak(rows, kind, target, scope, grace), 2.25, True)


@settings(max_examples=150)
@given(rows=known_runs, target=st.sampled_from(LEVELS), scope=scopes, grace=graces, weighed=st.booleans())
def test_integrals(rows, target, scope, grace, weighed):
    name, bound = ("itae", 0.0004) if weighed else ("iae", 0.03)
    keys = keys_of(scope, grace, figure=f"{name}(x, {target} K)")
    found = verdict(rows, at_most=f"{bound} K * 1 s{' * 1 s' if weighed else ''}", **keys)
    agree(found, exact.integral(rows, target, scope, grace, weighed), bound, True)


@settings(max_examples=150)
@given(rows=known_runs, band=st.sampled_from([0.75, 2.25]), scope=scopes, grace=graces)
def test_settling(rows, band, scope, grace):
    openings = exact.settling(rows, band, scope, grace)
    keys = keys_of(scope, grace, figure=f"settling(y, 0.5 K, {band} K)", at_most="10.5 ms")
    if all(value is not None for value, _ in openings):
        agree(verdict(rows, **keys), openings, 0.0105, True)
    else:
        assert verdict(rows, **keys).outcome in (Outcome.BROKEN, Outcome.NOT_JUDGED)
