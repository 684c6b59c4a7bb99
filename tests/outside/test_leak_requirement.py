"""The 60 s leak requirement of a gas burner, and the design that meets it, written as assertions.

Requirement: in any window of 60 s or more the gas leaks (flows unlit) at most a twentieth of it. Design: no
leak lasts more than 1 s, and leaks are at least 30 s apart. Source: Zhou, Hoare and Ravn, A Calculus of
Durations, Information Processing Letters 40 (1991); Ravn, Rischel and Hansen, IEEE Transactions on Software
Engineering 19 (1993). Numbers recalled, not confirmed; that the design implies the requirement is worked out.
"""

from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from harness.assertions import AssertionSpec, Judge, Outcome

UNITS = {"gas": "bool", "flame": "bool"}
LEAK = "gas and not flame"
DESIGN = (
    AssertionSpec("each leak lasts 1 s at most", each=LEAK, at_most="1 s"),
    AssertionSpec("leaks are 30 s apart at least", each=f"not ({LEAK})", at_least="30 s"),
)


def outcomes(leaks_ms, end_ms):
    """Outcomes of the design on a run that leaks in these intervals."""
    judge = Judge(DESIGN, UNITS)
    rows = [(0, 0), *((t, on) for begin, end in leaks_ms for t, on in ((begin, 1), (end, 0)))]
    times = np.array([t for t, _ in rows], np.int64)
    gas = np.array([on for _, on in rows], float)
    judge.chunk(times, {"gas": gas, "flame": np.zeros(len(rows))})
    return [verdict.outcome for verdict in judge.finish(end_ms, True)]


def worst_share(leaks_ms, end_ms):
    """The largest share of leaking in any window of 60 s or more, bounded by leaks or 60 s long."""
    marks = [0, end_ms, *(t for leak in leaks_ms for t in leak)]
    begins = sorted({t for mark in marks for t in (mark, mark - 60_000) if 0 <= t <= end_ms - 60_000})
    ends = sorted({t for mark in marks for t in (mark, mark + 60_000) if 60_000 <= t <= end_ms})
    return max(
        sum(max(0, min(end, b) - max(begin, a)) for a, b in leaks_ms) / (end - begin)
        for begin in begins
        for end in ends
        if end - begin >= 60_000
    )


def leaks_of(steps):
    """Leaks from pairs of a pause and a length."""
    leaks, at = [], 0
    for pause, length in steps:
        leaks.append((at + pause, at + pause + length))
        at += pause + length
    return leaks, max(at + 1000, 61_000)


near = st.tuples(st.integers(28_000, 40_000), st.integers(200, 1100))


@settings(max_examples=200)
@given(steps=st.lists(near, min_size=2, max_size=6))
def test_the_design_keeps_the_requirement(steps):
    leaks, end = leaks_of(steps)
    kept = outcomes(leaks, end) == [Outcome.MET, Outcome.MET]
    short = all(end - begin <= 1000 for begin, end in leaks)
    apart = all(later[0] - earlier[1] >= 30_000 for earlier, later in pairwise(leaks))
    assert kept == (short and apart)
    if kept:
        assert worst_share(leaks, end) <= 1 / 20


def test_the_requirement_can_be_broken():
    leaks, end = leaks_of([(5000, 1000), (10_000, 1000), (10_000, 1000), (10_000, 1000)])
    assert worst_share(leaks, end) > 1 / 20
    assert outcomes(leaks, end) == [Outcome.MET, Outcome.BROKEN]
    long, end = leaks_of([(5000, 4000), (40_000, 500)])
    assert worst_share(long, end) > 1 / 20
    assert outcomes(long, end) == [Outcome.BROKEN, Outcome.MET]
