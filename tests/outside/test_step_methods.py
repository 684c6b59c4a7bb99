"""The methods by hand on known responses: figures computed with general-purpose libraries, and by algebra.

Response of 1/(s + 1)^n to a step: regularised incomplete gamma function (scipy). python-control is the second
opinion for the responses themselves. The attributions of the methods stand in their modules.
"""

from __future__ import annotations

import control
import numpy as np
import pytest
from scipy.special import gammainc

from harness.calibration.identify.area import area
from harness.calibration.identify.driven import driven_response
from harness.calibration.identify.tangent import tangent
from harness.calibration.identify.two_point import passes, two_point
from harness.calibration.process import FirstOrder
from harness.calibration.truth.half_rule import half_rule

TIME = np.arange(0.0, 60.0, 0.001)

#: n: t28.3, t63.2, two-point T and L, tangent L and T, area T and L, half rule T and L.
TABLE = {
    2: (1.0510, 2.1457, 1.642, 0.504, 0.2817, 2.7183, 1.4715, 0.5285, 1.5, 0.5),
    3: (1.8507, 3.2577, 2.110, 1.147, 0.8055, 3.6945, 1.8270, 1.1730, 1.5, 1.5),
    4: (2.6868, 4.3513, 2.497, 1.855, 1.4254, 4.4635, 2.1242, 1.8758, 1.5, 2.5),
}


@pytest.mark.parametrize("n", TABLE)
def test_equal_lags_in_a_row(n: int) -> None:
    rise = gammainc(n, TIME)
    by_points, by_area, by_tangent = two_point(TIME, rise, 1.0), area(TIME, rise, 1.0), tangent(TIME, rise)
    by_half = half_rule(1.0, [1.0] * n)
    found = (
        passes(TIME, rise, 0.283), passes(TIME, rise, 0.632),
        by_points.time_constant_s, by_points.dead_time_s,
        by_tangent.dead_time_s, 1.0 / by_tangent.slope,
        by_area.time_constant_s, by_area.dead_time_s,
        by_half.lags_s[0], by_half.dead_time_s,
    )  # fmt: skip
    assert found == pytest.approx(TABLE[n], abs=6e-4)


@pytest.mark.parametrize("n", TABLE)
def test_the_response_of_equal_lags_agrees_with_python_control(n: int) -> None:
    second = control.step_response(control.tf([1.0], np.poly([-1.0] * n)), TIME[::500])
    assert np.asarray(second.outputs) == pytest.approx(gammainc(n, TIME[::500]), abs=1e-6)


def test_first_order_with_dead_time_comes_back_from_each_method() -> None:
    time_s = np.arange(0.0, 2500.0, 0.01)
    rise = FirstOrder(1.0, 20.0, 100.0).step_response(time_s)
    points, areas, steepest = two_point(time_s, rise, 1.0), area(time_s, rise, 1.0), tangent(time_s, rise)
    assert passes(time_s, rise, 0.283) == pytest.approx(53.268, abs=1e-3)
    assert passes(time_s, rise, 0.632) == pytest.approx(119.967, abs=1e-3)
    assert points.time_constant_s == pytest.approx(100.05, abs=0.01)
    assert (areas.dead_time_s, areas.time_constant_s) == pytest.approx((20.0, 100.0), abs=0.01)
    assert (steepest.dead_time_s, 1.0 / steepest.slope) == pytest.approx((20.0, 100.0), abs=0.05)


def test_the_response_to_switched_heat_agrees_with_python_control() -> None:
    # exp(-20 s) is left to a shift of the input by 20 s, since python-control has no delay.
    time_s = np.arange(0.0, 900.0, 1.0)
    heat = ((time_s >= 60.0) & (time_s < 180.0)) | ((time_s >= 300.0) & (time_s % 30.0 < 6.0))
    changes = np.concatenate([[0], np.flatnonzero(np.diff(heat.astype(float))) + 1])
    ours = driven_response(time_s, time_s[changes], heat[changes].astype(float), 0.4, 0.01, 20.0)
    held = control.sample_system(control.ss(control.tf([40.0], [100.0, 1.0])), 1.0, "zoh")
    late = np.concatenate([np.zeros(20), heat[:-20].astype(float)])
    assert ours == pytest.approx(np.asarray(control.forced_response(held, time_s, late).outputs), abs=1e-9)


# Half rule: Skogestad 2003, J. Process Control 13:291-309; a public script of the paper, rechecked by hand.


def test_the_half_rule_s_worked_example() -> None:
    lags, numerators = [2.0, 1.0, 0.4, 0.2, 0.05, 0.05, 0.05], [-0.3, 0.08]
    first, second = half_rule(1.0, lags, numerators), half_rule(1.0, lags, numerators, order=2)
    assert (*first.lags_s, first.dead_time_s) == pytest.approx((2.5, 1.47))
    assert (*second.lags_s, second.dead_time_s) == pytest.approx((2.0, 1.2, 0.77))


def test_the_half_rule_s_smaller_examples() -> None:
    two = half_rule(1.0, [1.0, 0.2])
    assert (*two.lags_s, two.dead_time_s) == pytest.approx((1.1, 0.1))
    four = half_rule(1.0, [1.0, 0.2, 0.04, 0.008])
    assert (*four.lags_s, four.dead_time_s) == pytest.approx((1.1, 0.148))
    second = half_rule(1.0, [1.0, 0.2, 0.04, 0.008], order=2)
    assert (*second.lags_s, second.dead_time_s) == pytest.approx((1.0, 0.22, 0.028))


def test_a_slow_numerator_is_cancelled_against_its_lag() -> None:
    # 2 (15 s + 1) / ((20 s + 1)(s + 1)(0.1 s + 1)^2): 1.5, 1.05, 0.15 (the paper; from memory).
    found = half_rule(2.0, [20.0, 1.0, 0.1, 0.1], [15.0])
    assert (found.gain, *found.lags_s, found.dead_time_s) == pytest.approx((1.5, 1.05, 0.15))
