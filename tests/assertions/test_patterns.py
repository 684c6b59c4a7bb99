"""Each pattern and scope on hand-made runs: outcome, margin, unit, moment, count."""

import math

import numpy as np
import pytest

from harness.assertions import AssertionSpec, Judge, Outcome, compile_assertion

UNITS = {"x": "degC", "y": "degC", "gas": "%", "flame": "bool", "valve": "bool", "in.x": "degC", "n": "count"}
MET, BROKEN, IDLE, UNJUDGED = Outcome.MET, Outcome.BROKEN, Outcome.NOT_EXERCISED, Outcome.NOT_JUDGED


def judged(times, columns, *, end=None, complete=True, start_ms=0, **keys):
    """Verdict over one chunk; times and durations in seconds, columns by name."""
    ms = {k: round(v * 1000) if k.endswith("_ms") else v for k, v in keys.items()}
    monitor = compile_assertion(AssertionSpec("t", **ms), UNITS, start_ms=start_ms)
    rows = np.array([round(t * 1000) for t in times], np.int64)
    monitor.chunk(rows, {name: np.array(values, float) for name, values in columns.items()})
    return monitor.finish(round((times[-1] if end is None else end) * 1000), complete)


def said(verdict):
    return verdict.outcome, verdict.margin, verdict.margin_unit, verdict.decided_ms


@pytest.mark.parametrize(
    ("keys", "times", "columns", "expected"),
    [
        # universality and absence, global
        ({"always": "x < 76 degC"}, [0, 1, 2], {"x": [20, 70, 30]}, (MET, 6.0, "K", 1000)),
        ({"always": "x < 76 degC"}, [0, 1, 2], {"x": [20, 80, 30]}, (BROKEN, -4.0, "K", 933)),
        ({"always": "x < 76 degC"}, [0, 1, 2], {"x": [20, 76, 30]}, (BROKEN, 0.0, "K", 1000)),
        ({"always": "x <= 76 degC"}, [0, 1, 2], {"x": [20, 76, 30]}, (MET, 0.0, "K", 1000)),
        ({"never": "x > 76 degC"}, [0, 1, 2], {"x": [20, 76, 30]}, (MET, 0.0, "K", 1000)),
        # what a continuous signal came up to counts, although it jumps away in the same row time
        ({"always": "x < 76 degC"}, [0, 1, 1, 2], {"x": [20, 80, 30, 30]}, (BROKEN, -4.0, "K", 933)),
        # a switched signal holds: open and shut between two exchanges is seen
        ({"never": "valve"}, [0, 0.9, 0.91, 1], {"valve": [0, 1, 0, 0]}, (BROKEN, None, "", 900)),
        # of rows that share a time the last holds; what lasted no time is no state
        ({"never": "valve"}, [0, 1, 1, 2], {"valve": [0, 1, 0, 0]}, (MET, None, "", None)),
        ({"always": "not valve or x < 50 degC"}, [0, 1, 2], {"valve": [0, 1, 1], "x": [60, 40, 45]},
         (MET, 5.0, "K", 2000)),
        # a reading as sent holds until the next
        ({"always": "in.x < 50 degC"}, [0, 1, 2], {"in.x": [40, 45, 60]}, (BROKEN, -10.0, "K", 2000)),
        # two units: numbers as they stand, the unit of the comparison that decided
        ({"always": "x < 76 degC and gas < 25 %"}, [0, 1],
         {"x": [20, 70], "gas": [0, 20]}, (MET, 5.0, "%", 1000)),
        ({"always": "x < 76 degC and gas < 25 %"}, [0, 1],
         {"x": [20, 72], "gas": [0, 20]}, (MET, 4.0, "K", 1000)),
        ({"always": "x < 76 degC or gas < 25 %"}, [0, 1],
         {"x": [20, 72], "gas": [0, 20]}, (MET, 5.0, "%", 1000)),
        # existence
        ({"sometime": "x > 65 degC"}, [0, 1, 2], {"x": [60, 70, 60]}, (MET, 5.0, "K", 500)),
        ({"sometime": "x > 65 degC"}, [0, 1, 2], {"x": [60, 63, 60]}, (BROKEN, -2.0, "K", 1000)),
        ({"sometime": "flame"}, [0, 1, 2], {"flame": [0, 0, 1]}, (MET, None, "", 2000)),
        ({"sometime": "flame"}, [0, 1, 2], {"flame": [0, 0, 0]}, (BROKEN, None, "", 2000)),
        ({"sometime": "x > 65 degC", "while_": "flame"}, [0, 1, 2, 3, 4, 5],
         {"flame": [0, 1, 0, 1, 0, 0], "x": [60, 67, 67, 68, 68, 90]}, (MET, 2.0, "K", 1000)),
        ({"sometime": "x > 65 degC", "while_": "flame"}, [0, 1, 2, 3, 4, 5],
         {"flame": [0, 1, 0, 1, 0, 0], "x": [60, 67, 62, 62, 62, 90]}, (BROKEN, -3.0, "K", 3000)),
        # scopes
        ({"never": "valve", "while_": "between 1 s and 3 s"}, [0, 1, 3],
         {"valve": [1, 0, 1]}, (MET, None, "", None)),
        ({"never": "valve", "while_": "between 1 s and 3 s"}, [0, 1, 2.9], {"valve": [1, 0, 1]},
         (BROKEN, None, "", 2900)),
        ({"never": "valve", "while_": "after 3 s"}, [0, 1, 3], {"valve": [1, 1, 0]}, (MET, None, "", None)),
        ({"never": "valve", "while_": "after 9 s"}, [0, 1, 3], {"valve": [1, 1, 1]}, (IDLE, None, "", None)),
        ({"never": "valve", "while_": "before flame"}, [0, 1, 2], {"valve": [0, 1, 1], "flame": [0, 1, 0]},
         (MET, None, "", None)),
        ({"never": "valve", "while_": "before flame"}, [0, 1, 2], {"valve": [0, 0, 1], "flame": [0, 0, 0]},
         (BROKEN, None, "", 2000)),
        ({"never": "valve", "while_": "between falls(flame) and n == 1"}, [0, 1, 2, 3],
         {"flame": [1, 0, 0, 0], "n": [0, 0, 1, 0], "valve": [1, 0, 1, 1]}, (MET, None, "", None)),
        ({"never": "valve", "while_": "between falls(flame) and n == 1"}, [0, 1, 2, 3],
         {"flame": [1, 0, 0, 0], "n": [0, 0, 1, 0], "valve": [1, 1, 1, 1]}, (BROKEN, None, "", 1000)),
        # it opens again at the next fall
        ({"never": "valve", "while_": "between falls(flame) and n == 1"}, [0, 1, 2, 3, 4],
         {"flame": [1, 0, 1, 1, 0], "n": [0, 1, 0, 0, 0], "valve": [1, 1, 1, 1, 0]}, (MET, None, "", None)),
        ({"always": "x > 50 degC", "while_": "y > 60 degC"}, [0, 1, 2],
         {"y": [50, 70, 50], "x": [40, 60, 40]},
         (MET, 0.0, "K", 500)),
        ({"always": "x >= 50 degC", "while_": "y >= 60 degC"}, [0, 1, 2],
         {"y": [50, 70, 50], "x": [40, 59, 40]},
         (BROKEN, -0.5, "K", 500)),
        ({"always": "x > 49 degC", "while_": "y > 60 degC"}, [0, 1, 2],
         {"y": [50, 70, 50], "x": [40, 60, 40]},
         (MET, 1.0, "K", 500)),
        # grace: the scope begins that long after it opens; the slack of a bare yes-or-no is in seconds
        ({"never": "valve", "while_": "between 8 s and 20 s", "grace_ms": 4}, [0, 9, 20],
         {"valve": [1, 0, 1]},
         (MET, 3.0, "s", 9000)),
        ({"never": "valve", "while_": "between 8 s and 20 s", "grace_ms": 4}, [0, 12, 20],
         {"valve": [1, 0, 1]},
         (MET, 0.0, "s", 12000)),
        ({"never": "valve", "while_": "between 8 s and 20 s", "grace_ms": 4}, [0, 13, 20],
         {"valve": [1, 0, 1]},
         (BROKEN, -1.0, "s", 12000)),
        ({"never": "valve", "while_": "between 8 s and 20 s", "grace_ms": 4}, [0, 9, 15, 20],
         {"valve": [1, 0, 1, 0]},
         (BROKEN, None, "", 15000)),
        ({"never": "valve", "while_": "flame", "grace_ms": 4}, [0, 1, 3],
         {"flame": [0, 1, 0], "valve": [1, 1, 1]},
         (IDLE, None, "", None)),
        # an opening that is over before its grace says nothing
        ({"never": "valve", "while_": "flame", "grace_ms": 4}, [0, 1, 3, 10, 11, 20],
         {"flame": [0, 1, 0, 1, 1, 1], "valve": [1, 1, 1, 1, 0, 0]}, (MET, 3.0, "s", 11000)),
        ({"never": "valve", "grace_ms": 2}, [0, 1, 9], {"valve": [1, 0, 0]}, (MET, 1.0, "s", 1000)),
        ({"always": "x < 50 degC", "grace_ms": 1}, [0, 1, 2], {"x": [60, 40, 40]}, (MET, 10.0, "K", 1000)),
        # functions
        ({"always": "rate(x) < 2 K/min"}, [0, 60, 120], {"x": [20, 21, 22.5]}, (MET, 0.5 / 60, "K/s", 60000)),
        ({"always": "rate(x) > 0.4 K/s"}, [0, 1, 2], {"x": [20, 21, 21.5]}, (MET, 0.1, "K/s", 1000)),
        ({"never": "held(valve, 2 s)"}, [0, 1, 2.9, 4], {"valve": [0, 1, 0, 0]}, (MET, None, "", None)),
        ({"never": "held(valve, 2 s)"}, [0, 1, 3.1, 4], {"valve": [0, 1, 0, 0]}, (BROKEN, None, "", 3000)),
        ({"never": "rises(x > 50 degC)"}, [0, 1, 2], {"x": [60, 40, 60]}, (BROKEN, None, "", 1500)),
        ({"always": "max(x, y) < 60 degC"}, [0, 2], {"x": [40, 59], "y": [55, 40]}, (MET, 1.0, "K", 2000)),
        ({"sometime": "max(x, y) < 51 degC"}, [0, 2], {"x": [40, 60], "y": [60, 40]}, (MET, 1.0, "K", 900)),
        ({"sometime": "abs(x - y) < 1 K"}, [0, 2], {"x": [40, 60], "y": [60, 40]}, (MET, 1.0, "K", 950)),
    ],
)  # fmt: skip
def test_invariants_and_existence(keys, times, columns, expected):
    outcome, margin, unit, decided = said(judged(times, columns, **keys))
    assert (outcome, unit, decided) == (expected[0], *expected[2:])
    assert margin is None if expected[1] is None else margin == pytest.approx(expected[1], abs=1e-12)


@pytest.mark.parametrize(
    ("keys", "times", "columns", "expected", "count"),
    [
        ({"after": "falls(flame)"}, [0, 1, 4, 9],
         {"flame": [1, 0, 0, 0], "valve": [1, 1, 0, 0]}, (MET, 1.0, 4000), 1),
        ({"after": "falls(flame)"}, [0, 1, 9],
         {"flame": [1, 0, 0], "valve": [1, 1, 1]}, (BROKEN, -4.0, 5000), 1),
        ({"after": "falls(flame)"}, [0, 1, 9],
         {"flame": [1, 1, 1], "valve": [1, 1, 1]}, (IDLE, None, None), 0),
        ({"after": "falls(flame)"}, [0, 1, 9],
         {"flame": [0, 0, 0], "valve": [1, 1, 1]}, (IDLE, None, None), 0),
        ({"after": "not flame"}, [0, 1, 9], {"flame": [0, 0, 0], "valve": [1, 0, 0]}, (MET, 3.0, 1000), 1),
        ({"after": "falls(flame)"}, [0, 1, 4],
         {"flame": [1, 0, 0], "valve": [1, 1, 1]}, (UNJUDGED, None, None), 1),
        ({"after": "falls(flame)"}, [0, 1, 5],
         {"flame": [1, 0, 0], "valve": [1, 1, 1]}, (BROKEN, 0.0, 5000), 1),
        ({"after": "falls(flame)"}, [0, 1, 5], {"flame": [1, 0, 0], "valve": [1, 1, 0]}, (MET, 0.0, 5000), 1),
        # the smallest slack of two
        ({"after": "falls(flame)"}, [0, 1, 2, 3, 4, 7, 9],
         {"flame": [1, 0, 0, 1, 0, 0, 0], "valve": [1, 1, 0, 1, 1, 0, 0]}, (MET, 1.0, 7000), 2),
        # one answer for two triggers
        ({"after": "falls(flame)"}, [0, 1, 2, 3, 6, 9],
         {"flame": [1, 0, 1, 0, 0, 0], "valve": [1, 1, 1, 1, 0, 0]},
         (BROKEN, -1.0, 5000), 2),
        ({"after": "at 2 s"}, [0, 1, 3, 9], {"valve": [1, 1, 0, 0]}, (MET, 3.0, 3000), 1),
        ({"after": "at 0 s"}, [0, 1, 3, 9], {"valve": [1, 1, 0, 0]}, (MET, 1.0, 3000), 1),
        ({"after": "at 9 s", "within_ms": 0}, [0, 1, 3, 9], {"valve": [1, 1, 0, 0]}, (MET, 0.0, 9000), 1),
        ({"after": "at 10 s"}, [0, 1, 3, 9], {"valve": [1, 1, 0, 0]}, (IDLE, None, None), 0),
        # the trigger crosses between rows, the answer too: 75 degC at 1.25 s, 70 degC at 2.5 s
        ({"after": "x > 75 degC", "expect": "y < 70 degC"}, [0, 1, 2, 3, 9],
         {"x": [60, 70, 90, 90, 90], "y": [80, 80, 75, 65, 65]}, (MET, 2.75, 2500), 1),
        # held: the answer must last
        ({"after": "falls(flame)", "held_ms": 2}, [0, 1, 2, 3, 4, 9],
         {"flame": [1, 0, 0, 0, 0, 0], "valve": [1, 1, 0, 1, 0, 0]}, (MET, 1.0, 4000), 1),
        ({"after": "falls(flame)", "held_ms": 2}, [0, 1, 2, 4, 9],
         {"flame": [1, 0, 0, 0, 0], "valve": [1, 1, 0, 1, 1]}, (MET, 3.0, 2000), 1),
        ({"after": "falls(flame)", "held_ms": 2}, [0, 1, 2, 3.9, 9],
         {"flame": [1, 0, 0, 0, 0], "valve": [1, 1, 0, 1, 1]}, (BROKEN, -4.0, 5000), 1),
        ({"after": "falls(flame)", "held_ms": 2}, [0, 1, 4, 5.5],
         {"flame": [1, 0, 0, 0], "valve": [1, 1, 0, 0]}, (UNJUDGED, None, None), 1),
        # a scope gates the trigger; the answer may come after it closes
        ({"after": "falls(flame)", "while_": "before 2 s"}, [0, 1, 3, 4, 5, 9],
         {"flame": [1, 0, 0, 1, 0, 0], "valve": [1, 1, 0, 1, 1, 1]}, (MET, 2.0, 3000), 1),
    ],
)  # fmt: skip
def test_responses(keys, times, columns, expected, count):
    verdict = judged(times, columns, **{"within_ms": 4, "expect": "not valve", **keys})
    outcome, margin, unit, decided = said(verdict)
    assert (outcome, decided, verdict.exercised) == (expected[0], expected[2], count)
    if expected[1] is not None:
        assert margin == pytest.approx(expected[1], abs=1e-12)
        assert unit == "s"


NAN = math.nan


@pytest.mark.parametrize(
    ("keys", "columns", "outcome"),
    [
        ({"always": "in.x < 50 degC"}, {"in.x": [40, NAN, 40]}, UNJUDGED),
        ({"always": "in.x < 50 degC"}, {"in.x": [60, NAN, 40]}, BROKEN),
        ({"always": "in.x < 50 degC"}, {"in.x": [NAN, 40, 60]}, BROKEN),
        ({"never": "in.x > 50 degC"}, {"in.x": [40, NAN, 40]}, UNJUDGED),
        ({"never": "in.x > 50 degC and valve"}, {"in.x": [40, NAN, 40], "valve": [0, 0, 0]}, MET),
        ({"never": "in.x > 50 degC and valve"}, {"in.x": [40, NAN, 40], "valve": [0, 1, 0]}, UNJUDGED),
        ({"always": "in.x < 50 degC or valve"}, {"in.x": [40, NAN, 40], "valve": [0, 1, 0]}, MET),
        ({"always": "known(in.x)"}, {"in.x": [40, NAN, 40]}, BROKEN),
        ({"always": "in.x < 50 degC", "while_": "before 1 s"}, {"in.x": [40, NAN, 40]}, MET),
        ({"always": "in.x < 50 degC", "while_": "known(in.x)"}, {"in.x": [40, NAN, 40]}, MET),
        ({"always": "valve", "while_": "in.x > 50 degC"},
         {"in.x": [40, NAN, 40], "valve": [0, 0, 0]}, UNJUDGED),
        ({"always": "valve", "while_": "in.x > 50 degC"}, {"in.x": [40, NAN, 40], "valve": [0, 1, 0]}, IDLE),
        ({"always": "valve", "while_": "after in.x > 50 degC"},
         {"in.x": [NAN, 40, 60], "valve": [0, 0, 1]}, UNJUDGED),
        ({"sometime": "in.x > 50 degC"}, {"in.x": [NAN, 60, 40]}, MET),
        ({"sometime": "in.x > 50 degC"}, {"in.x": [40, NAN, 40]}, UNJUDGED),
        ({"never": "rises(in.x > 50 degC)"}, {"in.x": [40, NAN, 40]}, UNJUDGED),
        ({"never": "held(in.x > 50 degC, 0.5 s)"}, {"in.x": [40, NAN, 40]}, UNJUDGED),
        ({"never": "held(in.x > 50 degC, 1 s)"}, {"in.x": [40, NAN, 40]}, MET),
        ({"after": "at 0 s", "within_ms": 1, "expect": "in.x > 50 degC"}, {"in.x": [40, 60, 40]}, MET),
        ({"after": "at 0 s", "within_ms": 1, "expect": "in.x > 50 degC"}, {"in.x": [NAN, 60, 40]}, MET),
        ({"after": "at 0 s", "within_ms": 0.5, "expect": "in.x > 50 degC"},
         {"in.x": [NAN, 60, 40]}, UNJUDGED),
        ({"after": "at 0 s", "within_ms": 0.5, "expect": "in.x > 50 degC"}, {"in.x": [40, NAN, 60]}, BROKEN),
        ({"after": "in.x > 50 degC", "within_ms": 1, "expect": "valve"},
         {"in.x": [40, NAN, 40], "valve": [0, 0, 0]},
         UNJUDGED),
        ({"after": "in.x > 50 degC", "within_ms": 1, "expect": "valve"},
         {"in.x": [40, NAN, 40], "valve": [0, 1, 0]},
         IDLE),
    ],
)  # fmt: skip
def test_a_missing_figure_never_passes_where_it_decides(keys, columns, outcome):
    verdict = judged([0, 1, 2], columns, **keys)
    assert verdict.outcome is outcome
    if outcome is UNJUDGED:
        assert "is missing at" in verdict.note
        assert verdict.margin is None


@pytest.mark.parametrize(
    ("keys", "columns", "outcome"),
    [
        ({"always": "x < 50 degC"}, {"x": [40, 40, 40]}, UNJUDGED),
        ({"always": "x < 50 degC"}, {"x": [40, 60, 40]}, BROKEN),
        ({"sometime": "x > 50 degC"}, {"x": [40, 60, 40]}, MET),
        ({"sometime": "x > 50 degC"}, {"x": [40, 40, 40]}, UNJUDGED),
        ({"sometime": "x > 50 degC", "while_": "after 1 s"}, {"x": [40, 60, 40]}, UNJUDGED),
        ({"after": "at 0 s", "within_ms": 1, "expect": "x > 50 degC"}, {"x": [60, 60, 40]}, UNJUDGED),
        ({"after": "at 0 s", "within_ms": 1, "expect": "x > 50 degC"}, {"x": [40, 40, 40]}, BROKEN),
        ({"after": "at 5 s", "within_ms": 1, "expect": "x > 50 degC"}, {"x": [40, 40, 40]}, UNJUDGED),
    ],
)
def test_a_run_that_ended_early_says_only_what_is_certain(keys, columns, outcome):
    verdict = judged([0, 1, 2], columns, complete=False, **keys)
    assert verdict.outcome is outcome
    if outcome is UNJUDGED:
        assert verdict.note == "the run ended early, at 2 s"


def test_the_note_names_what_is_missing():
    columns = {"in.x": [40, NAN, 40], "valve": [1, 1, 1]}
    verdict = judged([0, 1, 2], columns, always="in.x < 50 degC or not valve")
    assert verdict.note == "'in.x' is missing at 1 s, where it decides"


def test_nothing_recorded_cannot_be_judged():
    monitor = compile_assertion(AssertionSpec("t", always="x < 5 degC"), UNITS)
    monitor.chunk(np.empty(0, np.int64), {"x": np.empty(0)})
    assert monitor.finish(0, True).outcome is UNJUDGED
    assert monitor.finish(0, True).note == "nothing was recorded"


def test_a_single_row_is_judged_at_its_moment_and_held_to_the_end():
    assert said(judged([0], {"x": [40]}, always="x < 50 degC")) == (MET, 10.0, "K", 0)
    late = judged([0], {"valve": [1]}, end=9, after="at 2 s", within_ms=4, expect="not valve")
    assert said(late) == (BROKEN, -3.0, "s", 6000)
    last = judged([0, 5], {"valve": [0, 0]}, end=9, after="at 9 s", within_ms=0, expect="not valve")
    assert said(last) == (MET, 0.0, "s", 9000)


def test_a_condition_may_speak_of_no_signal():
    assert judged([0, 1], {}, always="3 K > 2 K").margin == 1.0


def test_rows_out_of_time_are_refused():
    monitor = compile_assertion(AssertionSpec("t", always="x < 5 degC"), UNITS)
    with pytest.raises(ValueError, match="500 ms follows 1000 ms"):
        monitor.chunk(np.array([0, 1000, 500]), {"x": np.zeros(3)})


def test_several_are_judged_together_and_broken_ones_are_known_at_once():
    specs = [AssertionSpec("a", always="x < 50 degC"), AssertionSpec("b", basis="why", never="x > 70 degC")]
    specs.append(AssertionSpec("c", after="x > 50 degC", within_ms=500, expect="x < 50 degC"))
    judge = Judge(specs, UNITS)
    assert judge.names == ("x",)
    judge.chunk(np.array([0, 1000]), {"x": np.array([40.0, 40.0])})
    assert judge.broken == ()
    judge.chunk(np.array([2000, 3000]), {"x": np.array([60.0, 60.0])})
    assert judge.broken == (0, 2)
    assert [(v.title, v.basis, v.outcome) for v in judge.finish(3000, True)] == [
        ("a", "", BROKEN), ("b", "why", MET), ("c", "", BROKEN),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("keys", "valve", "noted"),
    [
        ({"within_ms": 2}, [0, 0, 0, 0], True),
        ({"within_ms": 2}, [1, 1, 0, 0], False),
        ({"within_ms": 0}, [0, 0, 0, 0], False),
        ({"within_ms": 2, "held_ms": 1}, [0, 0, 0, 0], False),
    ],
)
def test_an_answer_that_was_there_already_is_noted(keys, valve, noted):
    verdict = judged(
        [0, 1, 2, 3],
        {"flame": [1.0, 0.0, 0.0, 0.0], "valve": [float(one) for one in valve]},
        after="falls(flame)",
        expect="not valve",
        **keys,
    )
    assert verdict.outcome == "met"
    assert ("very moment of each trigger" in verdict.note) is noted
