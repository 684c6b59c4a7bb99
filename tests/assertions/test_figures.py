"""Figures of merit on hand-made runs: outcome, margin, unit, moment."""

import math

import numpy as np
import pytest

from harness.assertions import AssertionSpec, ExpressionError, Outcome, check_spec, compile_assertion

UNITS = {"x": "degC", "y": "degC", "in.x": "degC", "in.goal": "degC", "valve": "bool"}
MET, BROKEN, IDLE, UNJUDGED = Outcome.MET, Outcome.BROKEN, Outcome.NOT_EXERCISED, Outcome.NOT_JUDGED
NAN = math.nan


def judged(times, columns, figure, *, complete=True, **keys):
    """Verdict over one chunk; times in seconds, columns by name."""
    monitor = compile_assertion(AssertionSpec("t", figure=figure, **keys), UNITS)
    rows = np.array([round(t * 1000) for t in times], np.int64)
    monitor.chunk(rows, {name: np.array(values, float) for name, values in columns.items()})
    return monitor.finish(round(times[-1] * 1000), complete)


def said(verdict):
    return verdict.outcome, verdict.margin, verdict.margin_unit, verdict.decided_ms


# From 20 to 70 and back to 64 about a target of 66 degC: reached at 9.2 s and again at 13.333 s.
HEAT = ([0, 10, 15, 20], [20, 70, 64, 66])


@pytest.mark.parametrize(
    ("figure", "keys", "expected"),
    [
        ("overshoot(x, 66 degC)", {"at_most": "5 K"}, (MET, 1.0, "K", 10_000)),
        ("overshoot(x, 66 degC)", {"at_most": "1.5 K"}, (BROKEN, -2.5, "K", 10_000)),
        ("overshoot(x, 66 degC)", {"at_least": "1 K"}, (MET, 3.0, "K", 10_000)),
        ("overshoot(x, 66 degC)", {"at_most": "9 delta_degF"}, (MET, 1.0, "K", 10_000)),
        ("overshoot(x, 150.8 degF)", {"at_most": "5 K"}, (MET, 1.0, "K", 10_000)),
        ("undershoot(x, 66 degC)", {"at_most": "3 K"}, (MET, 1.0, "K", 15_000)),
        ("undershoot(x, 80 degC)", {"at_most": "3 K"}, (IDLE, None, "", None)),
        ("overshoot(x, 70 degC)", {"at_most": "3 K"}, (MET, 3.0, "K", 20_000)),
        ("worst_error(x, 66 degC)", {"at_most": "50 K"}, (MET, 4.0, "K", 0)),
        ("worst_error(x, 66 degC)", {"at_most": "5 K", "while_": "after x > 66 degC"},
         (MET, 1.0, "K", 10_000)),
        ("settling(x, 66 degC, 3 K)", {"at_most": "12 s"}, (MET, 12 - (10 + 1 / 1.2), "s", 10_833)),
        ("settling(x, 66 degC, 3 K)", {"at_most": "9 s"}, (BROKEN, 9 - (10 + 1 / 1.2), "s", 10_833)),
        ("settling(x, 66 degC, 60 K)", {"at_most": "9 s"}, (MET, 9.0, "s", 0)),
        # half of 46 K in 9.2 s, of 4 K in 0.8 s and 3.333 s, of 2 K in 1.667 s and in 5 s
        ("iae(x, 66 degC)", {"at_most": "250 K * 1 s"},
         (MET, 250 - (46 * 9.2 + 4 * 0.8 + 4 * 10 / 3 + 2 * 5 / 3 + 2 * 5) / 2, "K*s", 20_000)),
        ("iae(x, 66 degC)", {"at_most": "3 K * 1 min"}, (BROKEN, None, "K*s", 20_000)),
        ("ramp(x, 30 degC, 60 degC)", {"at_least": "4 K/s"}, (MET, 1.0, "K/s", 8000)),
        ("ramp(x, 30 degC, 60 degC)", {"at_most": "240 K/min"}, (BROKEN, -1.0, "K/s", 8000)),
        ("ramp(x, 70 degC, 65 degC)", {"at_least": "1 K/s"}, (MET, 0.2, "K/s", 14_167)),
        ("ramp(x, 86 degF, 140 degF)", {"at_least": "4 K/s"}, (MET, 1.0, "K/s", 8000)),
        # not there yet: at most 60 K in 19 s, perhaps never
        ("ramp(x, 25 degC, 85 degC)", {"at_least": "4 K/s"}, (BROKEN, 60 / 19 - 4, "K/s", 20_000)),
        ("ramp(x, 25 degC, 85 degC)", {"at_least": "2 K/s"}, (UNJUDGED, None, "", None)),
        ("ramp(x, 10 degC, 60 degC)", {"at_least": "2 K/s"}, (IDLE, None, "", None)),
    ],
)  # fmt: skip
def test_figures_of_a_signal(figure, keys, expected):
    times, values = HEAT
    verdict = judged(times, {"x": values}, figure, **keys)
    assert (verdict.outcome, verdict.margin_unit, verdict.decided_ms) == (expected[0], *expected[2:])
    if expected[1] is not None:
        assert verdict.margin == pytest.approx(expected[1], abs=1e-9)


def test_the_weighed_integral_is_exact():
    # |e| = 10 - t for 10 s, then t - 10 for 5 s: the integral of t (10 - t) is 166.667, of t (t - 10) 166.667
    verdict = judged([0, 15], {"x": [40, 55]}, "itae(x, 50 degC)", at_most="500 K * 1 s * 1 s")
    after = (15**3 - 10**3) / 3 - 5 * (15**2 - 10**2)
    assert verdict.margin == pytest.approx(500 - (500 / 3 + after), abs=1e-9)
    assert verdict.margin_unit == "K*s*s"


def test_the_weight_counts_from_the_opening():
    keys = {"at_most": "9 K * 1 s * 1 s", "while_": "after 5 s"}
    verdict = judged([0, 7], {"x": [52, 52]}, "itae(x, 50 degC)", **keys)
    assert said(verdict) == (MET, 5.0, "K*s*s", 7000)


@pytest.mark.parametrize(
    ("figure", "keys", "expected"),
    [
        ("switchings(valve)", {"at_most": "3"}, (MET, 1.0, "count", 6000)),
        ("longest(valve)", {"at_most": "5 s"}, (MET, 3.0, "s", 3000)),
        ("shortest(valve)", {"at_least": "1 s"}, (MET, 1.0, "s", 3000)),
        ("shortest(not valve)", {"at_least": "4 s"}, (BROKEN, -1.0, "s", 6000)),
        ("longest(valve and x < 50 degC)", {"at_most": "5 s"}, (MET, 5.0, "s", 7000)),
        ("shortest(x > 90 degC)", {"at_least": "1 s"}, (IDLE, None, "", None)),
    ],
)
def test_figures_of_a_condition(figure, keys, expected):
    columns = {"valve": [0, 1, 0, 1, 1], "x": [60] * 5}
    assert said(judged([0, 1, 3, 6, 7], columns, figure, **keys)) == expected


def test_a_target_may_move():
    # the set point steps from 50 to 60 degC at 2 s, past what was 5 K above it
    columns = {"x": [45, 55, 55, 61, 61], "in.goal": [50, 50, 60, 60, 60]}
    figure = "overshoot(x, in.goal)"
    verdict = judged([0, 1, 2, 3, 4], columns, figure, at_most="7 K")
    assert said(verdict) == (MET, 2.0, "K", 1000)
    later = judged([0, 1, 2, 3, 4], columns, figure, at_most="7 K", while_="after 2 s")
    assert said(later) == (MET, 6.0, "K", 3000)


@pytest.mark.parametrize(
    ("reading", "figure", "keys", "outcome"),
    [
        ([60, NAN, 70, 60], "overshoot(in.x, 66 degC)", {"at_most": "3 K"}, BROKEN),
        ([60, NAN, 70, 60], "overshoot(in.x, 66 degC)", {"at_most": "5 K"}, UNJUDGED),
        ([60, NAN, 60, 60], "overshoot(in.x, 66 degC)", {"at_most": "5 K"}, UNJUDGED),
        ([60, NAN, 60, 60], "worst_error(in.x, 66 degC)", {"at_most": "5 K"}, BROKEN),
        ([60, NAN, 60, 60], "worst_error(in.x, 66 degC)", {"at_least": "5 K"}, MET),
        ([60, NAN, 60, 60], "worst_error(in.x, 66 degC)", {"at_most": "7 K"}, UNJUDGED),
        ([60, NAN, 60, 60], "iae(in.x, 66 degC)", {"at_most": "11 K * 1 s"}, BROKEN),
        ([60, NAN, 60, 60], "iae(in.x, 66 degC)", {"at_most": "13 K * 1 s"}, UNJUDGED),
        ([60, NAN, 66, 66], "settling(in.x, 66 degC, 1 K)", {"at_most": "2.5 s"}, MET),
        ([60, NAN, 66, 66], "settling(in.x, 66 degC, 1 K)", {"at_most": "1.5 s"}, UNJUDGED),
        ([60, NAN, 66, 66], "settling(in.x, 66 degC, 1 K)", {"at_most": "0.5 s"}, BROKEN),
        ([60, 66, 66, NAN], "settling(in.x, 66 degC, 1 K)", {"at_most": "2.5 s"}, UNJUDGED),
        ([60, NAN, 70, 70], "ramp(in.x, 60 degC, 70 degC)", {"at_least": "1 K/s"}, UNJUDGED),
        ([60, 70, NAN, 70], "ramp(in.x, 60 degC, 70 degC)", {"at_least": "1 K/s"}, MET),
        ([NAN, NAN, NAN, NAN], "worst_error(in.x, 66 degC)", {"at_most": "7 K"}, UNJUDGED),
    ],
)  # fmt: skip
def test_a_missing_figure_never_passes(reading, figure, keys, outcome):
    verdict = judged([0, 1, 2, 3], {"in.x": reading}, figure, **keys)
    assert verdict.outcome is outcome
    assert ("'in.x' is missing" in verdict.note) == (outcome is UNJUDGED)


def test_not_settled_at_the_end():
    far = judged([0, 10], {"x": [20, 20]}, "settling(x, 66 degC, 1 K)", at_most="9 s")
    assert said(far) == (BROKEN, -1.0, "s", 10_000)
    soon = judged([0, 10], {"x": [20, 20]}, "settling(x, 66 degC, 1 K)", at_most="11 s")
    assert (soon.outcome, soon.note) == (UNJUDGED, "it had not settled when the scope closed")


@pytest.mark.parametrize(
    ("keys", "outcome"),
    [
        ({"at_most": "3 K"}, BROKEN),
        ({"at_most": "5 K"}, UNJUDGED),
        ({"at_least": "3 K"}, MET),
        ({"at_least": "5 K"}, UNJUDGED),
        ({"at_least": "3 K", "while_": "after 0 s"}, UNJUDGED),
    ],
)
def test_a_run_that_ended_early_says_only_what_is_certain(keys, outcome):
    verdict = judged(*([HEAT[0], {"x": HEAT[1]}]), "overshoot(x, 66 degC)", complete=False, **keys)
    assert verdict.outcome is outcome


@pytest.mark.parametrize(
    ("figure", "bound", "key", "message"),
    [
        ("overshot(x, 66 degC)", "1 K", "figure", "called 'overshot'. Did you mean 'overshoot'?"),
        ("max(x, 66 degC)", "1 K", "figure", "no figure is called 'max'"),
        ("overshoot(x)", "1 K", "figure", "overshoot() takes a signal and its target"),
        ("overshoot(x, 3 K)", "1 K", "figure", "cannot be compared with"),
        ("overshoot(valve and x)", "1 K", "figure", "overshoot() takes a signal and its target"),
        ("overshoot(valve and valve, 1)", "1 K", "figure", "a number is wanted here"),
        ("settling(x, 66 degC, 66 degC)", "1 s", "figure", "cannot be compared with"),
        ("ramp(x, y, 66 degC)", "1 K/s", "figure", "two different fixed bounds"),
        ("ramp(x, 66 degC, 66 degC)", "1 K/s", "figure", "two different fixed bounds"),
        ("longest(x)", "1 s", "figure", "is no yes-or-no signal"),
        ("overshoot(z, 66 degC)", "1 K", "figure", "no signal is called 'z'"),
        ("x < 66 degC", "1 K", "figure", "does not fit here"),
        ("overshoot(x, 66 degC)", "70 degC", "at_most", "is a temperature [degC]; a temp"),
        ("overshoot(x, 66 degC)", "1.5", "at_most", "is a number without a unit"),
        ("overshoot(x, 66 degC)", "x - y", "at_most", "changes during the run"),
        ("overshoot(x, 66 degC)", "-1 K", "at_most", "is below 0"),
        ("overshoot(x, 66 degC)", "1 K <", "at_most", "ends too early|does not fit"),
        ("iae(x, 66 degC)", "5 K", "at_most", "a quantity in K*s is wanted here"),
        ("longest(valve)", "5 K", "at_most", "a time [s] is wanted here"),
        ("switchings(valve)", "2.5", "at_most", "a whole number is wanted here"),
        ("switchings(valve)", "2 s", "at_most", "a count is wanted here"),
    ],
)
def test_a_mistake_points_at_its_part(figure, bound, key, message):
    mistakes = check_spec(AssertionSpec("t", figure=figure, at_most=bound), UNITS)
    assert [found for found, _ in mistakes] == [key]
    assert any(part in mistakes[0][1] for part in message.split("|")), mistakes[0][1]
    with pytest.raises(ExpressionError):
        compile_assertion(AssertionSpec("t", figure=figure, at_most=bound), UNITS)
