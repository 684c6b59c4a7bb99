"""The controller's integer arithmetic against exact fractions, and what keeps its sources to integers."""

from __future__ import annotations

import ast
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.stubs.controller_rig import CORE_SOURCES, STUBS, Config

from panel import setpoint_of  # isort: skip
from pid import FULL, TERM_MOST, Pid, divide  # isort: skip

INT32 = 2**31
TEMPERATURES = st.integers(-10000, 115000)
GAINS = st.sampled_from(Config().gains)


def half_away(number: Fraction) -> int:
    """Rounded to a whole number, halves away from zero."""
    rounded = int(abs(number) + Fraction(1, 2))
    return rounded if number >= 0 else -rounded


@given(st.integers(-(10**18), 10**18), st.integers(1, 10**9))
def test_division_truncates_as_c_does(a, b):
    assert divide(a, b) == int(Fraction(a, b))


@given(st.integers(-INT32 + 1, INT32 - 1), st.booleans())
def test_set_point_is_the_panel_s_tenth_in_celsius(value, fahrenheit):
    tenth = half_away(Fraction(value, 100)) * 100
    exact = half_away(Fraction((tenth - 32000) * 5, 9)) if fahrenheit else tenth
    wanted = 0 if tenth <= 0 or exact <= 0 else min(exact, 90000)
    assert setpoint_of(value, fahrenheit) == wanted


def test_set_point_table():
    # Exact by definition of the scale: 212, 140, 149, 152, 168 degF.
    fahrenheit = {212000: 90000, 140000: 60000, 149000: 65000, 152000: 66667, 168000: 75556, 32100: 56}
    assert {value: setpoint_of(value, True) for value in fahrenheit} == fahrenheit
    celsius = {None: 0, 0: 0, 49: 0, 50: 100, 66049: 66000, 66050: 66100}
    assert {value: setpoint_of(value, False) for value in celsius} == celsius


def computed(pid: Pid, gains, setpoint: int, measured: int, passed_ms: int = 1000, **how) -> int:
    pid.due(passed_ms)
    chosen = {"duty": 0, "follow": False, "hold": False, **how}
    return pid.step(gains, 0, setpoint, measured, chosen["duty"], chosen["follow"], chosen["hold"])


@given(
    GAINS, TEMPERATURES, st.lists(st.tuples(TEMPERATURES, st.integers(0, 5000), st.booleans()), max_size=30)
)
def test_duty_and_integral_stay_bounded(gains, setpoint, steps):
    pid = Pid()
    for measured, passed_ms, hold in steps:
        assert 0 <= computed(pid, gains, setpoint, measured, passed_ms, hold=hold) <= 1000
        assert 0 <= pid.integral <= FULL
        assert abs(pid.filtered) <= 115_000_000


@given(GAINS, TEMPERATURES, TEMPERATURES, TEMPERATURES, st.integers(0, 1000))
def test_automatic_starts_at_the_duty_that_was_in_force(gains, setpoint, before, measured, duty):
    pid = Pid()
    computed(pid, gains, setpoint, before, duty=duty, follow=True)
    assert computed(pid, gains, setpoint, measured, duty=duty, follow=True) == duty
    assert abs(pid.integral) <= 2 * TERM_MOST + FULL
    taken_over = pid.integral
    pid.step(gains, 0, setpoint, measured, duty, False, True)  # no time has passed, nothing is integrated
    assert pid.integral == taken_over
    assert pid.step(gains, 0, setpoint, measured, duty, False, True) == duty


def test_integral_holds_while_saturated_and_moves_back_at_once():
    pid, gains = Pid(), Config().gains[0]
    for _ in range(1000):
        assert computed(pid, gains, 66000, 60000) == 1000
    assert pid.integral == 0
    for _ in range(100):
        computed(pid, gains, 66000, 65000, hold=True)
    assert pid.integral == 0
    for _ in range(1000):
        computed(pid, gains, 66000, 65000)
    assert pid.integral == 1000 * (250 * 1000 * 1000 // 2400000)
    computed(pid, gains, 66000, 66100)
    assert pid.integral == 1000 * 104  # saturated by the derivative, in the direction of the error
    for _ in range(100):
        computed(pid, gains, 66000, 66100)
    assert pid.integral < 1000 * 104


@pytest.mark.parametrize("name", [*CORE_SOURCES, "reference"])
def test_python_sources_use_integers_and_what_micropython_has(name):
    path = STUBS / "python" / f"{name}.py"
    barred = (ast.Div, ast.JoinedStr, ast.NamedExpr, ast.Match, ast.AnnAssign, ast.AsyncFunctionDef)
    own = {*CORE_SOURCES, "unlit_kit", "own_clock", "os", "sys"}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        assert not isinstance(node, barred)
        assert not (isinstance(node, ast.Constant) and isinstance(node.value, float))
        if isinstance(node, ast.Import):
            assert {each.name for each in node.names} <= own
        if isinstance(node, ast.ImportFrom):
            assert node.module in own


@pytest.mark.parametrize("name", [*CORE_SOURCES, "reference"])
def test_c_sources_use_integers_and_no_heap(name):
    text = (STUBS / "c" / f"{name}.c").read_text(encoding="utf-8")
    for barred in ("float", "double", "malloc", "printf", "stdio.h", "stdlib.h"):
        assert barred not in text
