"""Published semantics of temporal logic, worked by hand or stated in print."""

import numpy as np
import pytest

from harness.assertions import AssertionSpec, Outcome, compile_assertion

UNITS = {"x": "K", "p": "bool", "s": "bool", "spark": "bool", "gas": "bool", "flame": "bool"}


def judged(times_s, columns, complete=True, **keys):
    monitor = compile_assertion(AssertionSpec("t", **keys), UNITS)
    rows = np.array([round(t * 1000) for t in times_s], np.int64)
    monitor.chunk(rows, {name: np.array(values, float) for name, values in columns.items()})
    return monitor.finish(int(rows[-1]), complete)


# Quantitative semantics (Fainekos and Pappas, Theoretical Computer Science 410 (2009) 4262-4291; Donzé and
# Maler, FORMATS 2010): rho(x >= c) = x - c, rho(G p) = inf, rho(F p) = sup. By hand on x = 3, 1, 4, 1, 5.
SERIES = ([0, 1, 2, 3, 4], {"x": [3, 1, 4, 1, 5]})


def test_globally_is_the_smallest_margin():
    verdict = judged(*SERIES, always="x >= 0 K")
    assert (verdict.outcome, verdict.margin, verdict.decided_ms) == (Outcome.MET, 1.0, 1000)


def test_finally_is_the_largest_margin():
    verdict = judged(*SERIES, sometime="x >= 5.5 K")
    assert (verdict.outcome, verdict.margin, verdict.decided_ms) == (Outcome.BROKEN, -0.5, 4000)


@pytest.mark.parametrize(("start", "expected"), [(0, 0.0), (1, 0.0), (2, 1.0)])
def test_finally_in_each_window_of_the_nested_formula(start, expected):
    """rho(G[0,2] F[0,2] x >= 4) = min(0, 0, 1) = 0: its three windows, each as an existence in a scope."""
    window = f"between {start} s and {start + 2}.001 s"
    assert judged(*SERIES, sometime="x >= 4 K", while_=window).margin == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        ("not x >= 2 K", -3.0),  # rho(not p) = -rho(p); the smallest of 2 - x
        ("x >= 0 K and x < 8 K", 1.0),  # min
        ("x >= 2 K or x < 1.5 K", -0.25),  # max; inf where the two lines cross, at x = 1.75
    ],
)
def test_boolean_connectives(condition, expected):
    assert judged(*SERIES, always=condition).margin == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("limit", [0.75, 1.25, 5.25])
def test_a_disturbance_smaller_than_the_margin_cannot_change_the_verdict(limit):
    """The theorem that gives the margin its meaning (Fainekos and Pappas 2009)."""
    times, columns = SERIES
    verdict = judged(times, columns, always=f"x >= {limit} K")
    for size in (-0.999, 0.999):
        moved = {"x": [x + size * verdict.margin for x in columns["x"]]}
        assert judged(times, moved, always=f"x >= {limit} K").outcome is verdict.outcome


# Property specification patterns, global scope (Dwyer, Avrunin and Corbett, ICSE 1999, 411-420):
# absence G !p, universality G p, existence F p, response G(p -> F s).
PATTERNS = [
    ("absence", {"never": "p"}, [0, 0, 0], [0, 0, 0], Outcome.MET),
    ("absence", {"never": "p"}, [0, 1, 0], [0, 0, 0], Outcome.BROKEN),
    ("universality", {"always": "p"}, [1, 1, 1], [0, 0, 0], Outcome.MET),
    ("universality", {"always": "p"}, [1, 0, 1], [0, 0, 0], Outcome.BROKEN),
    ("existence", {"sometime": "p"}, [0, 1, 0], [0, 0, 0], Outcome.MET),
    ("existence", {"sometime": "p"}, [0, 0, 0], [0, 0, 0], Outcome.BROKEN),
    ("response", {"after": "p", "within_ms": 1000, "expect": "s"}, [1, 0, 0], [0, 1, 0], Outcome.MET),
    ("response", {"after": "p", "within_ms": 1000, "expect": "s"}, [1, 0, 0], [1, 0, 0], Outcome.MET),
    ("response", {"after": "p", "within_ms": 1000, "expect": "s"}, [1, 0, 0], [0, 0, 1], Outcome.BROKEN),
    # Vacuously true in print; here it is said that nothing was shown.
    ("response", {"after": "p", "within_ms": 1000, "expect": "s"}, [0, 0, 0], [0, 0, 1],
     Outcome.NOT_EXERCISED),
    # Scopes: before R, after Q, after Q until R.
    ("before", {"always": "p", "while_": "before s"}, [1, 0, 0], [0, 1, 0], Outcome.MET),
    ("before", {"always": "p", "while_": "before s"}, [1, 0, 0], [0, 0, 1], Outcome.BROKEN),
    ("after", {"always": "p", "while_": "after s"}, [0, 1, 1], [0, 1, 0], Outcome.MET),
    ("after", {"always": "p", "while_": "after s"}, [0, 1, 0], [0, 1, 0], Outcome.BROKEN),
    ("after-until", {"never": "s", "while_": "between p and s"}, [1, 0, 0], [0, 0, 1], Outcome.MET),
]  # fmt: skip


@pytest.mark.parametrize(("name", "keys", "p", "s", "expected"), PATTERNS)
def test_published_patterns(name, keys, p, s, expected):
    assert judged([0, 1, 2], {"p": p, "s": s}, **keys).outcome is expected, name


# Bounded response G(p -> F[0,4] s) with a closed window, as the formulas of signal temporal logic are read.
@pytest.mark.parametrize(
    ("answer_s", "outcome", "slack"),
    [(3.5, Outcome.MET, 0.5), (4.0, Outcome.MET, 0.0), (4.1, Outcome.BROKEN, -0.1)],
)
def test_the_window_of_a_response_is_closed(answer_s, outcome, slack):
    columns = {"flame": [1, 0, 0, 0], "gas": [1, 1, 0, 0]}
    keys = {"after": "falls(flame)", "within_ms": 4000, "expect": "not gas"}
    verdict = judged([0, 2, 2 + answer_s, 20], columns, **keys)
    assert (verdict.outcome, verdict.margin_unit) == (outcome, "s")
    assert verdict.margin == pytest.approx(slack, abs=1e-12)


# The burner of Hehner, a Practical Theory of Programming, exercise 500: the spark lasts at least 1 s with
# the gas on; the gas is never on and unlit for more than 3 s; once off, the gas stays off at least 20 s.
BURNER = {
    "spark": {"after": "rises(spark)", "within_ms": 0, "expect": "spark and gas", "held_ms": 1000},
    "unlit": {"never": "held(gas and not flame, 3.001 s)"},
    "off": {"after": "falls(gas)", "within_ms": 0, "expect": "not gas", "held_ms": 20_000},
}
GOOD = ([0, 5, 5.8, 6, 60, 60.5, 81, 82, 83, 110], {
    "spark": [0, 1, 1, 0, 0, 0, 1, 1, 0, 0],
    "gas": [0, 1, 1, 1, 0, 0, 1, 1, 1, 1],
    "flame": [0, 0, 1, 1, 1, 0, 0, 1, 1, 1],
})  # fmt: skip


def burner(times=GOOD[0], **changed):
    columns = {**GOOD[1], **changed}
    return {name: judged(times, columns, **keys).outcome for name, keys in BURNER.items()}


def test_a_good_burner_meets_the_published_requirement():
    assert set(burner().values()) == {Outcome.MET}


@pytest.mark.parametrize(
    ("broken", "times", "changed"),
    [
        ("spark", [0, 5, 5.8, 5.9, 60, 60.5, 81, 82, 83, 110], {}),
        ("spark", GOOD[0], {"gas": [0, 0, 1, 1, 0, 0, 1, 1, 1, 1]}),
        ("unlit", [0, 5, 8.1, 8.2, 60, 60.5, 81, 82, 83, 110], {}),
        ("off", [0, 5, 5.8, 6, 60, 60.5, 79.9, 82, 83, 110], {}),
    ],
)
def test_a_bad_burner_breaks_its_part_of_the_requirement(broken, times, changed):
    outcomes = burner(times, **changed)
    assert {name for name, outcome in outcomes.items() if outcome is Outcome.BROKEN} == {broken}
