"""The processes that calibration speaks of: their step responses, and figures that cannot be."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.calibration.process import Estimate, FirstOrder, Integrating, Interval

SECONDS = st.floats(0.1, 1e4)


@given(gain=st.floats(0.1, 500.0), dead_s=st.floats(0.0, 1e3), constant_s=SECONDS)
def test_a_first_order_stands_still_then_reaches_its_gain(
    gain: float, dead_s: float, constant_s: float
) -> None:
    process = FirstOrder(gain, dead_s, constant_s)
    at = np.array([-1.0, dead_s, dead_s + constant_s, dead_s + 40.0 * constant_s])
    assert process.step_response(at) == pytest.approx([0.0, 0.0, gain * (1.0 - math.exp(-1.0)), gain])


@given(slope=st.floats(1e-4, 1.0), dead_s=st.floats(0.0, 1e3), later_s=SECONDS)
def test_an_integrating_process_rises_for_ever(slope: float, dead_s: float, later_s: float) -> None:
    process = Integrating(slope, dead_s)
    rise = process.step_response([dead_s, dead_s + later_s])
    assert rise == pytest.approx([0.0, slope * later_s], rel=1e-6, abs=1e-9)


def test_a_slow_first_order_begins_like_an_integrating_process() -> None:
    slow = FirstOrder(gain=1000.0, dead_time_s=30.0, time_constant_s=1e6)
    alike = Integrating(slow.slope, 30.0)
    at = np.linspace(0.0, 600.0, 50)
    assert slow.step_response(at) == pytest.approx(alike.step_response(at), rel=1e-3)


@pytest.mark.parametrize(
    ("figures", "named"),
    [
        ((0.0, 1.0, 1.0), "gain"),
        ((math.nan, 1.0, 1.0), "gain"),
        ((1.0, -1.0, 1.0), "dead_time_s"),
        ((1.0, 1.0, 0.0), "time_constant_s"),
        ((1.0, 1.0, math.inf), "time_constant_s"),
    ],
)
def test_figures_that_cannot_be_are_refused_by_name(figures: tuple[float, float, float], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        FirstOrder(*figures)


def test_an_estimate_lists_its_figures_with_their_intervals() -> None:
    found = Estimate(Integrating(0.02, 30.0), "least squares", {"slope": Interval(0.019, 0.021)})
    assert found.figures() == {"slope": (0.02, Interval(0.019, 0.021)), "dead_time_s": (30.0, None)}
    assert 0.02 in found.intervals["slope"]
    assert math.nan not in found.intervals["slope"]
