"""What must be so of every verdict: chunking, shifting, more rows, the sign of the margin."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harness.assertions import AssertionSpec, Judge, Outcome, compile_assertion

UNITS = {"x": "degC", "y": "degC", "gas": "%", "b": "bool", "c": "bool", "in.x": "degC"}

conditions = st.sampled_from(
    [
        "x < 3 degC", "b", "not b and x > -2 degC", "x < 2 degC or y > 1 degC", "abs(x - y) < 3 K",
        "max(x, y) < 4 degC", "min(x, y) > -4 degC or c", "x < 3 degC and gas < 4 %", "rate(x) < 2 K/s",
        "held(b, 700 ms)", "held(x > 0 degC, 1 s) or c", "rises(b) or falls(y > 1 degC)", "in.x < 3 degC",
        "known(in.x) and in.x > 0 degC", "not held(in.x < 3 degC, 500 ms)", "x - y < 2 K and b",
    ]
)  # fmt: skip
scopes = st.sampled_from(
    [None, "between 1 s and 3 s", "before b", "after y > 2 degC", "between rises(b) and c", "x > 0 degC",
     "between x > 0 degC and (y > 0 degC or c)", "in.x > 0 degC", "after 700 ms", "held(b, 300 ms)"]
)  # fmt: skip
invariants = st.builds(
    lambda kind, condition, scope, grace: AssertionSpec(
        "t", while_=scope, grace_ms=grace or None, **{kind: condition}
    ),
    st.sampled_from(["always", "never", "sometime"]), conditions, scopes, st.sampled_from([0, 400]),
)  # fmt: skip
responses = st.builds(
    lambda after, expect, within, held, scope: AssertionSpec(
        "t", after=after, expect=expect, within_ms=within, held_ms=held or None, while_=scope
    ),
    conditions | st.sampled_from(["at 1 s", "falls(b)"]), conditions, st.sampled_from([0, 500, 1300]),
    st.sampled_from([0, 600]), scopes,
)  # fmt: skip
counted = st.builds(
    lambda condition, bound, scope, grace: AssertionSpec(
        "t", while_=scope, grace_ms=grace or None, **{bound[0]: condition, bound[1]: bound[2]}
    ),
    conditions, st.sampled_from(
        [("count", "at_most", "2"), ("count", "at_least", "1"), ("each", "at_most", "900 ms"),
         ("each", "at_least", "300 ms"), ("again", "within_ms", 700)]
    ), scopes, st.sampled_from([0, 400]),
)  # fmt: skip
precedences = st.builds(
    lambda event, leave, scope: AssertionSpec("t", before=event, expect=leave, while_=scope),
    conditions, conditions, scopes,
)  # fmt: skip
figures = st.builds(
    lambda figure, scope, upper: AssertionSpec(
        "t", figure=figure[0], while_=scope, **{"at_most" if upper else "at_least": figure[1]}
    ),
    st.sampled_from(
        [("overshoot(x, 0.25 degC)", "1.6 K"), ("undershoot(x, y)", "1.6 K"),
         ("worst_error(in.x, 1 degC)", "3 K"), ("iae(x, 0 degC)", "3 K * 1 s"),
         ("itae(in.x, y)", "3 K * 1 s * 1 s"),
         ("settling(x, 0.25 degC, 2 K)", "1.7 s"), ("ramp(x, -1.25 degC, 1.25 degC)", "2 K/s"),
         ("ramp(in.x, 1 degC, 0 degC)", "2 K/s"), ("switchings(b and x > 0 degC)", "1"),
         ("longest(not b)", "700 ms"), ("shortest(in.x > 0 degC)", "400 ms")]
    ), scopes, st.booleans(),
)  # fmt: skip
specs = invariants | responses | counted | precedences | figures
figure = st.integers(-8, 8).map(lambda v: v / 2)
row = st.tuples(figure, figure, figure, st.booleans(), st.booleans(), figure | st.just(math.nan))
timed = st.lists(st.tuples(st.sampled_from([0, 1, 250, 250, 600]), row), min_size=1, max_size=25)


def table(rows):
    times = np.cumsum([0, *(step for step, _ in rows[1:])])
    values = np.array([r for _, r in rows], float)
    return times, {name: values[:, at] for at, name in enumerate(UNITS)}


def judged(spec, times, columns, cuts=(), start_ms=0, complete=True):
    monitor = compile_assertion(spec, UNITS, start_ms=start_ms)
    bounds = [0, *sorted(cuts), len(times)]
    for first, after in pairwise(bounds):
        monitor.chunk(times[first:after], {name: column[first:after] for name, column in columns.items()})
    return monitor.finish(int(times[-1]), complete)


def same(left, right):
    assert left.margin == pytest.approx(right.margin,
    abs=1e-9) if right.margin is not None else left.margin is None
    assert replace(left, margin=None) == replace(right, margin=None)


@settings(max_examples=300)
@given(spec=specs, rows=timed, data=st.data())
def test_any_chunking_gives_the_same_verdict(spec, rows, data):
    times, columns = table(rows)
    cuts = data.draw(st.lists(st.integers(0, len(times)), max_size=6))
    whole = judged(spec, times, columns)
    same(judged(spec, times, columns, cuts), whole)
    same(judged(spec, times, columns, range(len(times))), whole)


@given(rows=timed, several=st.lists(specs, min_size=2, max_size=5))
def test_together_they_are_judged_as_alone(rows, several):
    times, columns = table(rows)
    judge = Judge(several, UNITS)
    judge.chunk(times[:3], {name: column[:3] for name, column in columns.items()})
    judge.chunk(times[3:], {name: column[3:] for name, column in columns.items()})
    for spec, together in zip(several, judge.finish(int(times[-1]), True), strict=True):
        same(together, judged(spec, times, columns))


@given(spec=specs, rows=timed, shift=st.sampled_from([250, 86_400_000, 4_294_966_000]))
def test_a_later_start_changes_times_only(spec, rows, shift):
    times, columns = table(rows)
    first, later = judged(spec, times, columns), judged(spec, times + shift, columns, start_ms=shift)
    assert later.outcome is first.outcome
    assert later.exercised == first.exercised
    if first.margin is not None:
        # A moment between rows is kept to 1e-6 ms at a bench time of 2^32 ms.
        assert later.margin == pytest.approx(first.margin, abs=1e-6)
    # Of two openings with the same margin either may decide, by the last bit.
    if first.decided_ms is not None and later.decided_ms is not None and later.margin == first.margin:
        assert abs(later.decided_ms - first.decided_ms - shift) <= 1


@given(spec=specs, rows=timed)
def test_the_sign_of_the_margin_agrees_with_the_outcome(spec, rows):
    verdict = judged(spec, *table(rows))
    if verdict.outcome is Outcome.MET:
        assert verdict.margin is None or verdict.margin >= 0
    elif verdict.outcome is Outcome.BROKEN:
        assert verdict.margin is None or verdict.margin <= 0
        assert verdict.decided_ms is not None
    else:
        assert verdict.margin is None
        assert verdict.note


@given(spec=specs, rows=timed)
def test_what_is_broken_stays_broken_when_the_run_ends_early(spec, rows):
    times, columns = table(rows)
    whole, early = judged(spec, times, columns), judged(spec, times, columns, complete=False)
    if spec.stated in ("always", "never", "after"):
        assert (early.outcome is Outcome.BROKEN) == (whole.outcome is Outcome.BROKEN)
        assert early.outcome in (Outcome.BROKEN, Outcome.NOT_JUDGED)
    if early.outcome in (Outcome.MET, Outcome.BROKEN):
        assert early.outcome is whole.outcome


@given(rows=timed, share=st.floats(0.01, 0.99), limit=st.integers(-3, 3))
def test_more_rows_never_hide_a_break(rows, share, limit):
    """A row read off the line between two others changes nothing."""
    times, columns = table(rows)
    spec = AssertionSpec("t", always=f"x < {limit + 0.25} degC")
    gap = int(np.diff(times).argmax()) if len(times) > 1 else 0
    middle = round(times[gap] + share * 600) if len(times) > 1 else times[0]
    if not times[gap] < middle < times[min(gap + 1, len(times) - 1)]:
        return
    part = (middle - times[gap]) / (times[gap + 1] - times[gap])
    x = columns["x"][gap] + part * (columns["x"][gap + 1] - columns["x"][gap])
    more = {"x": np.insert(columns["x"], gap + 1, x)}
    before = judged(spec, times, {"x": columns["x"]})
    after = judged(spec, np.insert(times, gap + 1, middle), more)
    assert after.outcome is before.outcome
    assert after.margin == pytest.approx(before.margin, abs=1e-9)


@given(rows=timed, place=st.integers(0, 24), keys=st.sampled_from(["always", "never"]))
def test_a_missing_reading_never_gives_met(rows, place, keys):
    """Not with a reading missing for some time, whatever the others are."""
    times, columns = table(rows)
    at = place % len(times)
    if at == len(times) - 1 or times[at + 1] == times[at]:
        return
    columns["in.x"] = np.where(np.arange(len(times)) == at, math.nan, columns["in.x"])
    verdict = judged(AssertionSpec("t", **{keys: "in.x > 0 degC"}), times, columns)
    assert verdict.outcome in (Outcome.NOT_JUDGED, Outcome.BROKEN)
