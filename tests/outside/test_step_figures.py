"""Figures of merit of first and second order step responses against their closed forms.

Sources: step responses of first and second order systems, K. J. Åström and R. M. Murray, Feedback Systems,
chapter 6; overshoot exp(-pi zeta / sqrt(1 - zeta^2)); of e^(-t/tau) IAE tau, ITAE tau^2. The integrals and
settling times for zeta 0.5, 0.7 and 1 were computed from the closed response with scipy. Rows every 10 ms,
straight between: what a straight line misses of the curve is below 2e-5 of the step.
"""

import numpy as np
import pytest

from harness.assertions import AssertionSpec, Outcome, compile_assertion

END_S = 40.0
TIMES = np.arange(0, END_S + 0.005, 0.01)
ROWS = np.round(TIMES * 1000).astype(np.int64)


def second_order(zeta):
    """Unit step response of a second order system with natural frequency 1 rad/s."""
    if zeta == 1:
        return 1 - np.exp(-TIMES) * (1 + TIMES)
    damped = np.sqrt(1 - zeta**2)
    return 1 - np.exp(-zeta * TIMES) * (np.cos(damped * TIMES) + zeta / damped * np.sin(damped * TIMES))


def first_order(tau):
    return 1 - np.exp(-TIMES / tau)


def figure_of(response, figure, unit):
    """The figure of a response in K, from its distance to a bound that it surely meets; in three chunks."""
    monitor = compile_assertion(AssertionSpec("t", figure=figure, at_most=f"1000 {unit}"), {"x": "K"})
    for part in np.array_split(np.arange(len(ROWS)), 3):
        monitor.chunk(ROWS[part], {"x": response[part]})
    verdict = monitor.finish(int(ROWS[-1]), True)
    assert verdict.outcome is Outcome.MET
    return 1000 - verdict.margin


@pytest.mark.parametrize(
    ("zeta", "percent"), [(0.2, 52.66), (0.4, 25.38), (0.5, 16.30), (0.6, 9.48), (0.707, 4.33), (0.8, 1.52)]
)
def test_overshoot(zeta, percent):
    found = 100 * figure_of(second_order(zeta), "overshoot(x, 1 K)", "K")
    assert found == pytest.approx(percent, abs=0.006)
    exact = 100 * np.exp(-np.pi * zeta / np.sqrt(1 - zeta**2))
    assert found == pytest.approx(exact, abs=0.002)


@pytest.mark.parametrize(("zeta", "percent"), [(0.2, 52.66), (0.5, 16.30)])
def test_undershoot_is_the_second_swing(zeta, percent):
    """Each swing is the overshoot's share of the one before."""
    found = figure_of(second_order(zeta), "undershoot(x, 1 K)", "K")
    assert found == pytest.approx((percent / 100) ** 2, abs=1e-4)


@pytest.mark.parametrize(("zeta", "iae"), [(0.5, 1.7131), (0.7, 1.6102), (1, 2.0)])
def test_integral_of_the_error(zeta, iae):
    assert figure_of(second_order(zeta), "iae(x, 1 K)", "K * 1 s") == pytest.approx(iae, abs=1e-4)


@pytest.mark.parametrize(("zeta", "itae"), [(0.5, 2.9417), (0.7, 1.9896), (1, 3.0)])
def test_weighed_integral_of_the_error(zeta, itae):
    found = figure_of(second_order(zeta), "itae(x, 1 K)", "K * 1 s * 1 s")
    assert found == pytest.approx(itae, abs=2e-4)


@pytest.mark.parametrize(
    ("zeta", "band_percent", "seconds"),
    [(0.5, 2, 8.08), (0.5, 5, 5.29), (0.7, 2, 5.98), (0.7, 5, 2.90), (1, 2, 5.83), (1, 5, 4.74)],
)
def test_settling_time(zeta, band_percent, seconds):
    found = figure_of(second_order(zeta), f"settling(x, 1 K, {band_percent / 100} K)", "s")
    assert found == pytest.approx(seconds, abs=0.006)


@pytest.mark.parametrize("tau", [0.5, 1.0, 2.0])
def test_first_order(tau):
    response = first_order(tau)
    assert figure_of(response, "iae(x, 1 K)", "K * 1 s") == pytest.approx(tau, rel=1e-4)
    assert figure_of(response, "itae(x, 1 K)", "K * 1 s * 1 s") == pytest.approx(tau**2, rel=1e-4)
    for share, times_tau in ((0.02, 3.912), (0.05, 2.996), (0.01, 4.605)):
        found = figure_of(response, f"settling(x, 1 K, {share} K)", "s")
        assert found == pytest.approx(times_tau * tau, abs=0.001 * tau)


def test_ramp_rate_of_first_order():
    """From 10 % to 90 % in tau ln 9."""
    found = figure_of(first_order(2.0), "ramp(x, 0.1 K, 0.9 K)", "K/s")
    assert found == pytest.approx(0.8 / (2.0 * np.log(9)), rel=1e-5)
