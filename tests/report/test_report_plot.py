"""Curves in the terminal."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.report.plot import plot

TIME = np.linspace(0.0, 100.0, 501)


def test_a_rise_goes_from_the_lower_left_to_the_upper_right() -> None:
    lines = list(plot(TIME, [TIME], width=40, height=6, ascii_only=True, x_unit="min", y_unit="degC"))
    assert lines[0].strip() == "degC"
    assert lines[1].rstrip().endswith("*")
    assert lines[6].split("|")[-1].split("+")[-1].startswith("*")
    assert lines[-1].rstrip().endswith("min")


@given(
    ends=st.tuples(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4)),
    width=st.integers(30, 120),
    height=st.integers(3, 30),
    ascii_only=st.booleans(),
)
def test_it_keeps_to_its_size_and_alphabet(
    ends: tuple[float, float], width: int, height: int, ascii_only: bool
) -> None:
    curve = np.linspace(*ends, len(TIME))
    lines = list(plot(TIME, [curve], width=width, height=height, ascii_only=ascii_only, x_unit="s"))
    assert len(lines) == height + 3
    assert max(map(len, lines)) <= max(width, 30) + 2
    assert not ascii_only or all(line.isascii() for line in lines)


def test_two_curves_have_two_marks() -> None:
    lines = "".join(plot(TIME, [TIME, 100.0 - TIME], ascii_only=True))
    assert "*" in lines
    assert "o" in lines


def test_gaps_stay_blank_and_nothing_at_all_draws_nothing() -> None:
    curve = np.where((TIME > 30.0) & (TIME < 60.0), np.nan, 5.0)
    (row,) = [line for line in plot(TIME, [curve], width=60, height=5, ascii_only=True) if "*" in line]
    assert " " * 10 in row.strip()
    assert list(plot(TIME, [np.full(501, np.nan)])) == []


@pytest.mark.parametrize("value", [0.0, 20.0, -3.5])
def test_a_level_line_is_drawn(value: float) -> None:
    assert any("*" in line for line in plot(TIME, [np.full(501, value)], ascii_only=True))
