"""Outcomes and margins against rtamt, a library for signal temporal logic, on random runs and formulas.

Source: D. Ničković and T. Yamaguchi, RTAMT: Online Robustness Monitors from STL, ATVA 2020; PyPI `rtamt`.

Mapping to its discrete time: one row a second is one sample. Readings (`in.`) hold until the next row, so
that a sample is the truth of its whole second and any formula may be compared. Signals that are linear
between rows are compared where the extremes lie on rows: conjunctions that always hold, disjunctions that
hold at some time. A bool is the comparison with 0.5, its margin of 0.5 made endless: a true one counts as
1 000 000, a false one as -1 000 000. No value is at a level exactly: there `x < 5` holds too, here not.
2 000 cases in all.
"""

import warnings

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from harness.assertions import AssertionSpec, Outcome, compile_assertion

with warnings.catch_warnings():
    # Its parser's runtime imports a module that Python has deprecated.
    warnings.simplefilter("ignore")
    import rtamt

ENDLESS = 1e6
UNITS = {"in.x": "K", "in.y": "K", "in.b": "bool", "in.c": "bool", "x": "K", "y": "K"}
MET, BROKEN, IDLE, UNJUDGED = Outcome.MET, Outcome.BROKEN, Outcome.NOT_EXERCISED, Outcome.NOT_JUDGED


def robustness(formula, columns):
    """The robustness of a formula at the first sample, by rtamt."""
    spec = rtamt.StlDiscreteTimeSpecification()
    for name in columns:
        spec.declare_var(name, "float")
    spec.declare_var("out", "float")
    spec.spec = f"out = {formula}"
    spec.parse()
    samples = {name: [_sample(value) for value in values] for name, values in columns.items()}
    return spec.evaluate({"time": list(range(len(samples["x"]))), **samples})[0][1]


def _sample(value):
    return float(value) if not isinstance(value, bool) else 0.5 + (ENDLESS if value else -ENDLESS)


def judged(columns, prefix="in.", **keys):
    """The verdict on rows one second apart."""
    monitor = compile_assertion(AssertionSpec("t", **keys), UNITS)
    times = np.arange(len(columns["x"]), dtype=np.int64) * 1000
    named = {prefix + name: np.array(values, float) for name, values in columns.items()}
    monitor.chunk(times, {name: column for name, column in named.items() if name in monitor.names})
    return monitor.finish(int(times[-1]), True)


# A formula is (its text here, its text there).
LEVELS = [-3.5005, -0.2505, 0.5005, 2.7505]


def comparison(prefix, of, sign, level):
    there = {"x": "x", "y": "y", "sum": "(x + y)", "gap": "abs(x - y)"}[of]
    here = there.replace("x", f"{prefix}x").replace("y", f"{prefix}y")
    return f"{here} {sign} {level} K", f"({there} {sign} {level})"


def comparisons(prefix, kinds):
    signs = st.sampled_from(["<", "<=", ">", ">="])
    return st.builds(comparison, st.just(prefix), st.sampled_from(kinds), signs, st.sampled_from(LEVELS))


def join(word):
    return lambda a, b: (f"({a[0]} {word} {b[0]})", f"({a[1]} {word} {b[1]})")


flags = st.sampled_from("bc").map(lambda name: (f"in.{name}", f"({name} >= 0.5)"))
atoms = comparisons("in.", ["x", "y", "sum", "gap"]) | flags
formulas = st.recursive(
    atoms,
    lambda inner: st.one_of(
        st.builds(join("and"), inner, inner),
        st.builds(join("or"), inner, inner),
        inner.map(lambda a: (f"not ({a[0]})", f"(not {a[1]})")),
    ),
    max_leaves=5,
)
value = st.floats(-6, 6).map(lambda v: round(v, 3))
samples = st.fixed_dictionaries({"x": value, "y": value, "b": st.booleans(), "c": st.booleans()})


def _columns(rows):
    return {name: [row[name] for row in rows] for name in rows[0]}


runs = st.lists(samples, min_size=2, max_size=10).map(_columns)


def agree(verdict, rho):
    """Outcome by the sign, margin by the size."""
    assert verdict.outcome is (MET if rho > 0 else BROKEN)
    if abs(rho) > ENDLESS / 2:
        assert verdict.margin is None
    else:
        assert verdict.margin == pytest.approx(rho, abs=1e-9)


@settings(max_examples=550)
@given(columns=runs, f=formulas)
def test_always_never_sometime(columns, f):
    here, there = f
    agree(judged(columns, always=here), robustness(f"always {there}", columns))
    agree(judged(columns, never=here), robustness(f"always (not {there})", columns))
    agree(judged(columns, sometime=here), robustness(f"eventually {there}", columns))


@settings(max_examples=300)
@given(columns=runs, f=formulas, first=st.integers(0, 4), length=st.integers(1, 5))
def test_between_two_times(columns, f, first, length):
    """The scope closes with its last moment excluded: the sample there is not of it."""
    last = min(first + length, len(columns["x"])) - 1
    assume(first <= last)
    scope = f"between {first} s and {first + length} s"
    agree(judged(columns, always=f[0], while_=scope), robustness(f"always[{first}:{last}] {f[1]}", columns))
    rho = robustness(f"eventually[{first}:{last}] {f[1]}", columns)
    agree(judged(columns, sometime=f[0], while_=scope), rho)


@settings(max_examples=300)
@given(columns=runs, f=formulas)
def test_while_a_bool_holds(columns, f):
    verdict = judged(columns, always=f[0], while_="in.b")
    if not any(columns["b"]):
        assert verdict.outcome is IDLE
        return
    agree(verdict, robustness(f"always ((b >= 0.5) -> {f[1]})", columns))


@settings(max_examples=250)
@given(columns=runs, parts=st.lists(comparisons("", ["x", "y", "sum"]), min_size=1, max_size=4))
def test_straight_lines_between_rows(columns, parts):
    every, there = " and ".join(p[0] for p in parts), " and ".join(p[1] for p in parts)
    agree(judged(columns, "", always=every), robustness(f"always ({there})", columns))
    some, there = " or ".join(p[0] for p in parts), " or ".join(p[1] for p in parts)
    agree(judged(columns, "", sometime=some), robustness(f"eventually ({there})", columns))


QUIET = {"x": 9.0, "y": 9.0, "b": False, "c": False}


def _quieten(columns, f):
    """Add some quiet seconds to a run; whether f is false in them."""
    for name, rest in QUIET.items():
        columns[name] = [*columns[name], *[rest] * 12]
    return robustness(f[1], {name: [rest] * 2 for name, rest in QUIET.items()}) < 0


@settings(max_examples=200)
@given(columns=runs, f=atoms, g=atoms, within=st.integers(0, 4))
def test_response(columns, f, g, within):
    """No window is cut. The slack is checked by the window that just does and the one that just does not."""
    assume(_quieten(columns, f))
    verdict = judged(columns, after=f[0], expect=g[0], within_ms=within * 1000)
    if verdict.outcome is IDLE:
        assert robustness(f"always (not {f[1]})", columns) > 0
        return

    def answered(window):
        edge = f"({f[1]} and not prev {f[1]})"
        first = robustness(f"({f[1]} -> eventually[0:{window}] {g[1]})", columns)
        end = len(columns["x"]) - 1
        later = robustness(f"always[1:{end}] ({edge} -> eventually[0:{window}] {g[1]})", columns)
        return min(first, later) > 0

    assert (verdict.outcome is MET) == answered(within)
    needed = round(within - verdict.margin)
    assert needed == pytest.approx(within - verdict.margin, abs=1e-9)
    if verdict.outcome is MET:
        assert answered(needed)
    assert needed == 0 or not answered(needed - 1)


@settings(max_examples=200)
@given(columns=runs, f=atoms, g=atoms)
def test_precedence(columns, f, g):
    verdict = judged(columns, before=f[0], expect=g[0])
    if verdict.outcome is IDLE:
        assert robustness(f"always (not {f[1]})", columns) > 0
    else:
        assert (verdict.outcome is MET) == (robustness(f"always ({f[1]} -> once {g[1]})", columns) > 0)


@settings(max_examples=200)
@given(columns=st.lists(samples, min_size=4, max_size=12).map(_columns), f=atoms, within=st.integers(0, 3))
def test_recurrence_and_duration(columns, f, within):
    """Windows that fit into the run, half a second longer so that no gap is just as long."""
    last = len(columns["x"]) - 2 - within
    if last >= 0:
        found = judged(columns, again=f[0], within_ms=within * 1000 + 500)
        rho = robustness(f"always[0:{last}] eventually[0:{within}] {f[1]}", columns)
        assert (found.outcome is MET) == (rho > 0) or found.outcome is IDLE
    assume(_quieten(columns, f))
    longest = judged(columns, figure=f"longest({f[0]})", at_least=f"{within + 1} s")
    rho = robustness(f"eventually always[0:{within}] {f[1]}", columns)
    assert (longest.outcome is MET) == (rho > 0)
