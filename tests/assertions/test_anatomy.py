"""The parts of an assertion that are drawn are those that were judged."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.assertions import Anatomy, AssertionSpec, Outcome, compile_assertion, dissect

UNITS = {"liquor": "degC", "flame": "bool", "gas_valve": "bool", "out.fault": "count", "unburned_gas": "%"}
TIMES = np.array([0, 1000, 2000, 3000, 4000], np.int64)
COLUMNS = {
    "liquor": np.array([50.0, 60.0, 70.0, 60.0, 60.0]),
    "flame": np.array([0.0, 1.0, 0.0, 0.0, 0.0]),
    "gas_valve": np.array([1.0, 1.0, 1.0, 0.0, 0.0]),
    "out.fault": np.array([0.0, 0.0, 0.0, 6.0, 6.0]),
    "unburned_gas": np.array([0.0, 10.0, 5.0, 0.0, 0.0]),
}


def parts(**said: object) -> Anatomy:
    return dissect(AssertionSpec("a", **said), UNITS, TIMES, COLUMNS, 5000)  # type: ignore[arg-type]


def test_a_limit_is_the_constant_side_of_the_comparison() -> None:
    found = parts(always="liquor < 80 degC and unburned_gas < 25 %", while_="gas_valve")
    (low, high), (gas, limit) = found.compared
    assert (low.text, high.text, high.constant, high.unit) == ("liquor", "80 degC", 80.0, "degC")
    assert (gas.text, limit.constant) == ("unburned_gas", 25.0)
    assert found.scope == ((0.0, 3000.0),)
    assert found.signals == ("gas_valve", "liquor", "unburned_gas")


def test_truths_have_exact_moments_between_rows_and_across_the_end() -> None:
    found = parts(after="falls(flame)", within_ms=4000, expect="liquor < 65 degC and not gas_valve")
    assert found.truths == {"after": ((2000.0, 2000.0),), "expect": ((3000.0, 5000.0),)}
    assert parts(sometime="liquor > 65 degC").truths["sometime"] == ((1500.0, 2500.0),)


def test_what_a_figure_is_taken_of_and_its_bound() -> None:
    found = parts(figure="overshoot(liquor, 66 degC)", at_most="1.5 K")
    assert [number.text for number in found.numbers] == ["liquor", "66 degC"]
    assert found.bound == 1.5
    assert parts(each="gas_valve and not flame", at_most="15 s").bound == 15.0
    assert parts(again="flame", within_ms=3000).bound == 3.0


@pytest.mark.parametrize(
    ("side", "limit"),
    [
        ("abs(liquor - 66 degC)", "3 K"),
        ("rate(liquor)", "3 K/s"),
        ("max(liquor, 20 degC)", "90 degC"),
        ("unburned_gas * 2", "0.5"),
        ("unburned_gas + 2 %", "50 %"),
        ("(liquor - 20 degC) / 2", "50 K"),
        ("-(liquor - 20 degC)", "0 K"),
    ],
)
def test_a_side_is_said_as_it_can_be_written(side: str, limit: str) -> None:
    ((low, _),) = parts(always=f"{side} < {limit}").compared
    assert low.text == side


@given(st.lists(st.floats(0, 100), min_size=2, max_size=12), st.floats(1, 99))
def test_the_margin_is_the_least_distance_between_the_courses(values: list[float], limit: float) -> None:
    times = np.arange(len(values)) * 1000
    columns = {"liquor": np.array(values)}
    spec = AssertionSpec("a", always=f"liquor < {limit!r} degC")
    monitor = compile_assertion(spec, {"liquor": "degC"})
    monitor.chunk(times, columns)
    verdict = monitor.finish(int(times[-1]), True)
    ((low, high),) = dissect(spec, {"liquor": "degC"}, times, columns, int(times[-1])).compared
    assert high.constant is not None
    assert float((high.constant - low.values).min()) == pytest.approx(verdict.margin, abs=1e-9)
    if verdict.outcome is Outcome.MET:
        drawn = np.interp(float(verdict.decided_ms or 0), low.times, low.values)
        assert high.constant - drawn == pytest.approx(verdict.margin, abs=0.2)
