"""`before`, `again`, `count`, `each` on hand-made runs: outcome, margin, unit, moment, count."""

import math

import numpy as np
import pytest

from harness.assertions import AssertionSpec, Outcome, compile_assertion

UNITS = {"x": "degC", "spark": "bool", "valve": "bool", "flame": "bool", "in.x": "degC"}
MET, BROKEN, IDLE, UNJUDGED = Outcome.MET, Outcome.BROKEN, Outcome.NOT_EXERCISED, Outcome.NOT_JUDGED
NAN = math.nan


def judged(times, columns, *, end=None, complete=True, **keys):
    """Verdict over one chunk; times in seconds, columns by name."""
    monitor = compile_assertion(AssertionSpec("t", **keys), UNITS)
    rows = np.array([round(t * 1000) for t in times], np.int64)
    monitor.chunk(rows, {name: np.array(values, float) for name, values in columns.items()})
    return monitor.finish(round((times[-1] if end is None else end) * 1000), complete)


def said(verdict):
    return verdict.outcome, verdict.margin, verdict.decided_ms, verdict.exercised


# Rows at 0, 1, ... s.
@pytest.mark.parametrize(
    ("columns", "while_", "expected"),
    [
        # the spark comes 2 s before the valve
        ({"spark": [0, 1, 0, 0, 0], "valve": [0, 0, 0, 1, 0]}, None, (MET, 2.0, 3000, 1)),
        # both at one moment is in order
        ({"spark": [0, 0, 1, 0], "valve": [0, 0, 1, 0]}, None, (MET, 0.0, 2000, 1)),
        # the valve comes 2 s before the spark
        ({"spark": [0, 0, 0, 1], "valve": [0, 1, 0, 0]}, None, (BROKEN, -2.0, 1000, 1)),
        # the spark never comes: late by at least the rest of the run
        ({"spark": [0, 0, 0, 0], "valve": [0, 1, 0, 0]}, None, (BROKEN, -2.0, 1000, 1)),
        # only the first valve of an opening asks for it
        ({"spark": [1, 0, 0, 0], "valve": [0, 1, 0, 1]}, None, (MET, 1.0, 1000, 1)),
        ({"spark": [0, 1, 0, 0], "valve": [0, 0, 0, 0]}, None, (IDLE, None, None, 0)),
        # each opening anew: the spark of the first one does not count for the second
        ({"flame": [1, 1, 0, 1, 1], "spark": [1, 0, 0, 0, 0], "valve": [0, 1, 0, 0, 1]}, "flame",
         (BROKEN, 0.0, 4000, 2)),
        ({"flame": [1, 1, 0, 1, 1], "spark": [1, 0, 0, 1, 0], "valve": [0, 1, 0, 0, 1]}, "flame",
         (MET, 1.0, 1000, 2)),
        ({"flame": [0, 0], "spark": [1, 0], "valve": [0, 1]}, "flame", (IDLE, None, None, 0)),
        # what is true when the scope opens comes there
        ({"flame": [0, 1, 1], "spark": [0, 0, 1], "valve": [1, 1, 1]}, "flame", (BROKEN, -1.0, 1000, 1)),
    ],
)  # fmt: skip
def test_precedence(columns, while_, expected):
    times = range(len(columns["valve"]))
    verdict = judged(times, columns, before="valve", expect="spark", while_=while_)
    assert said(verdict) == expected


@pytest.mark.parametrize(
    ("reading", "valve", "outcome"),
    [
        ([40, 60, 60, 60], [0, 0, 0, 1], MET),
        ([40, NAN, 60, 60], [0, 0, 0, 1], MET),  # seen surely in time
        ([40, NAN, 40, 40], [0, 0, 0, 1], UNJUDGED),  # it may have come
        ([40, NAN, 40, 60], [0, 1, 1, 1], UNJUDGED),
        ([40, 40, NAN, 60], [0, 1, 1, 1], BROKEN),
    ],
)
def test_precedence_with_a_missing_figure(reading, valve, outcome):
    columns = {"in.x": reading, "valve": valve}
    verdict = judged(range(4), columns, before="valve", expect="in.x > 50 degC")
    assert verdict.outcome is outcome
    assert ("'in.x' is missing" in verdict.note) == (outcome is UNJUDGED)


def test_precedence_in_a_run_that_ends_early():
    keys = {"before": "valve", "expect": "spark", "complete": False}
    assert judged([0, 1], {"spark": [1, 0], "valve": [0, 1]}, **keys).outcome is MET
    assert judged([0, 1], {"spark": [0, 0], "valve": [0, 1]}, **keys).outcome is BROKEN
    assert judged([0, 1], {"spark": [1, 0], "valve": [0, 0]}, **keys).outcome is UNJUDGED


@pytest.mark.parametrize(
    ("valve", "keys", "expected"),
    [
        ([0, 1, 0, 1, 0, 1], {"at_most": "3"}, (MET, 0.0, 5000, 1)),
        ([0, 1, 0, 1, 0, 1], {"at_most": "2"}, (BROKEN, -1.0, 5000, 1)),
        ([0, 1, 0, 1, 0, 1], {"at_most": "1"}, (BROKEN, -2.0, 3000, 1)),
        ([0, 1, 0, 1, 0, 1], {"at_least": "2"}, (MET, 1.0, 3000, 1)),
        ([0, 1, 0, 1, 0, 1], {"at_least": "4"}, (BROKEN, -1.0, 5000, 1)),
        ([0, 0, 0], {"at_most": "3"}, (MET, 3.0, 2000, 1)),
        ([0, 0, 0], {"at_most": "0"}, (MET, 0.0, 2000, 1)),
        # true when the run begins counts
        ([1, 0, 1], {"at_most": "1"}, (BROKEN, -1.0, 2000, 1)),
        # each opening by itself: 1 from 0 s to 2 s, 2 from 3 s on
        ([1, 0, 0, 1, 0, 1], {"at_most": "2", "while_": "x > 50 degC"}, (MET, 0.0, 5000, 1)),
    ],
)
def test_bounded_existence(valve, keys, expected):
    heat = [60, 60, 40, 60, 60, 60][: len(valve)]
    times, columns = range(len(valve)), {"valve": valve}
    if "while_" in keys:
        columns["in.x"] = heat
        keys = {**keys, "while_": "in.x > 50 degC"}
    verdict = judged(times, columns, count="valve", **keys)
    assert said(verdict) == expected
    assert verdict.margin_unit == "count"


@pytest.mark.parametrize(
    ("reading", "keys", "outcome"),
    [
        # above 50 degC twice for certain, perhaps three times
        ([60, 40, NAN, 40, 60], {"at_most": "1"}, BROKEN),
        ([60, 40, NAN, 40, 60], {"at_most": "2"}, UNJUDGED),
        ([60, 40, NAN, 40, 60], {"at_least": "2"}, MET),
        ([60, 40, NAN, 40, 60], {"at_least": "3"}, UNJUDGED),
        # one time with a gap in it, or two
        ([40, 60, NAN, 60, 40], {"at_least": "2"}, UNJUDGED),
        ([40, NAN, 60, NAN, 40], {"at_least": "1"}, MET),
    ],
)
def test_a_count_with_a_missing_figure(reading, keys, outcome):
    assert judged(range(5), {"in.x": reading}, count="in.x > 50 degC", **keys).outcome is outcome


@pytest.mark.parametrize(
    ("valve", "keys", "expected"),
    [
        # open for 1 s, 2 s and 3 s
        ([0, 1, 0, 1, 1, 0, 1, 1, 1, 0], {"at_most": "4 s"}, (MET, 1.0, 9000, 3)),
        ([0, 1, 0, 1, 1, 0, 1, 1, 1, 0], {"at_most": "2 s"}, (BROKEN, -1.0, 8000, 3)),
        ([0, 1, 0, 1, 1, 0, 1, 1, 1, 0], {"at_least": "1 s"}, (MET, 0.0, 2000, 3)),
        ([0, 1, 0, 1, 1, 0, 1, 1, 1, 0], {"at_least": "1.5 s"}, (BROKEN, -0.5, 2000, 3)),
        ([0, 0, 0], {"at_most": "4 s"}, (IDLE, None, None, 0)),
        ([0, 0, 0], {"at_least": "4 s"}, (IDLE, None, None, 0)),
        # what the run cuts off, at either end, is too long or says nothing
        ([1, 0, 0, 0, 1], {"at_least": "4 s"}, (IDLE, None, None, 0)),
        ([1, 1, 1, 0, 0], {"at_most": "2 s"}, (BROKEN, -1.0, 2000, 1)),
        ([0, 0, 1, 1, 1], {"at_most": "1 s"}, (BROKEN, -1.0, 3000, 1)),
        ([0, 0, 1, 1, 1], {"at_most": "3 s"}, (MET, 1.0, 4000, 1)),
    ],
)
def test_durations(valve, keys, expected):
    verdict = judged(range(len(valve)), {"valve": valve}, each="valve", **keys)
    assert said(verdict) == expected
    assert verdict.margin_unit == ("" if verdict.margin is None else "s")


def test_a_duration_counts_within_its_scope_alone():
    columns = {"flame": [0, 1, 1, 1, 0], "valve": [1, 1, 0, 1, 1]}
    longest = judged(range(5), columns, each="valve", at_most="1 s", while_="flame")
    assert said(longest) == (MET, 0.0, 2000, 2)
    # neither began and ended while the flame stood
    assert judged(range(5), columns, each="valve", at_least="1 s", while_="flame").outcome is IDLE


@pytest.mark.parametrize(
    ("reading", "keys", "outcome"),
    [
        ([40, 60, NAN, 60, 40], {"at_most": "3 s"}, MET),  # 3 s at the most
        ([40, 60, NAN, 60, 40], {"at_most": "2 s"}, UNJUDGED),
        ([40, 60, NAN, 60, 40], {"at_most": "0.5 s"}, BROKEN),
        ([40, 60, NAN, 60, 40], {"at_least": "3.5 s"}, BROKEN),
        ([40, 60, NAN, 60, 40], {"at_least": "2 s"}, UNJUDGED),
        ([40, NAN, 40, 40, 40], {"at_least": "2 s"}, UNJUDGED),
        ([40, NAN, 40, 40, 40], {"at_most": "2 s"}, MET),
        ([40, NAN, 40, 40, 40], {"at_most": "0.5 s"}, UNJUDGED),
    ],
)
def test_a_duration_with_a_missing_figure(reading, keys, outcome):
    assert judged(range(5), {"in.x": reading}, each="in.x > 50 degC", **keys).outcome is outcome


@pytest.mark.parametrize(
    ("flame", "keys", "expected"),
    [
        # away from 1 s to 3 s and from 4 s to the end at 5 s
        ([1, 0, 0, 1, 0, 0], {"within_ms": 3000}, (MET, 1.0, 3000, 1)),
        ([1, 0, 0, 1, 0, 0], {"within_ms": 1500}, (BROKEN, -0.5, 2500, 1)),
        # never: away as long as the run
        ([0, 0, 0], {"within_ms": 1500}, (BROKEN, -0.5, 1500, 1)),
        # a window that does not fit into the run asks for nothing
        ([0, 0, 0], {"within_ms": 2500}, (IDLE, None, None, 0)),
        ([1, 1, 1], {"within_ms": 1000}, (MET, 1.0, 2000, 1)),
        # in each opening by itself
        ([1, 0, 0, 0, 0, 1], {"within_ms": 1500, "while_": "between 1 s and 3 s"}, (BROKEN, -0.5, 2500, 1)),
    ],
)
def test_bounded_recurrence(flame, keys, expected):
    assert said(judged(range(len(flame)), {"flame": flame}, again="flame", **keys)) == expected


def test_recurrence_of_moments():
    columns = {"valve": [0, 1, 0, 1, 0, 0, 0]}
    keys = {"again": "rises(valve)", "within_ms": 3000}
    assert said(judged(range(7), columns, **keys)) == (MET, 0.0, 6000, 1)
    assert said(judged(range(7), columns, end=6.5, **keys)) == (BROKEN, -0.5, 6000, 1)


@pytest.mark.parametrize(
    ("reading", "within_s", "outcome"),
    [
        ([60, NAN, 60, 40, 60], 2.5, MET),
        ([60, NAN, 60, 40, 60], 0.5, BROKEN),
        ([60, NAN, NAN, 60, 60], 1.5, UNJUDGED),
    ],
)
def test_recurrence_with_a_missing_figure(reading, within_s, outcome):
    keys = {"again": "in.x > 50 degC", "within_ms": round(within_s * 1000)}
    assert judged(range(5), {"in.x": reading}, **keys).outcome is outcome


@pytest.mark.parametrize(
    ("keys", "outcome"),
    [
        ({"count": "valve", "at_most": "0"}, BROKEN),
        ({"count": "valve", "at_most": "1"}, UNJUDGED),
        ({"count": "valve", "at_least": "1"}, MET),
        ({"count": "valve", "at_least": "2"}, UNJUDGED),
        ({"count": "valve", "at_least": "1", "while_": "after 0 s"}, UNJUDGED),
        ({"each": "valve", "at_most": "0.5 s"}, BROKEN),
        ({"each": "valve", "at_least": "1.5 s"}, BROKEN),
        ({"each": "valve", "at_least": "0.5 s"}, UNJUDGED),
        ({"again": "valve", "within_ms": 500}, BROKEN),
        ({"again": "valve", "within_ms": 1500}, UNJUDGED),
    ],
)
def test_a_run_that_ended_early_says_only_what_is_certain(keys, outcome):
    verdict = judged(range(4), {"valve": [0, 1, 0, 0]}, complete=False, **keys)
    assert verdict.outcome is outcome
    assert (verdict.note == "the run ended early, at 3 s") == (outcome is UNJUDGED)


@pytest.mark.parametrize(
    ("keys", "broken"),
    [
        ({"count": "valve", "at_most": "0"}, True),
        ({"count": "valve", "at_least": "9"}, False),
        ({"each": "valve", "at_most": "0.5 s"}, True),
        ({"each": "valve", "at_least": "2 s"}, True),
        ({"again": "flame", "within_ms": 1000}, True),
        ({"before": "valve", "expect": "spark"}, True),
        ({"before": "flame", "expect": "spark"}, False),
        ({"figure": "longest(valve)", "at_most": "500 ms"}, True),
    ],
)
def test_a_break_is_known_before_the_run_is_over(keys, broken):
    monitor = compile_assertion(AssertionSpec("t", **keys), UNITS)
    columns = {"valve": [0, 1, 0, 0], "flame": [0] * 4, "spark": [0] * 4}
    wanted = {name: np.array(columns[name], float) for name in monitor.names}
    monitor.chunk(np.array([0, 1000, 2000, 3000]), wanted)
    assert monitor.broken is broken
