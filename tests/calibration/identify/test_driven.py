"""The response to switched heat: what any linear process must do, and against scipy's integrator."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from harness.calibration.identify.driven import driven_response
from harness.calibration.process import FirstOrder, Integrating

TIME = np.arange(0.0, 3000.0, 7.0)
LOSSES = st.one_of(st.just(0.0), st.floats(1e-7, 0.05), st.floats(-1e-4, -1e-7))
HEATS = st.lists(st.floats(0.0, 1.0), min_size=1, max_size=8)


def changes(count: int) -> np.ndarray:
    return np.arange(count) * 250.0


@given(heat=HEATS, loss=LOSSES, dead_s=st.floats(0.0, 400.0), scale=st.floats(0.1, 5.0))
def test_twice_the_heat_is_twice_the_rise(
    heat: list[float], loss: float, dead_s: float, scale: float
) -> None:
    one = driven_response(TIME, changes(len(heat)), np.array(heat), 0.02, loss, dead_s)
    more = driven_response(TIME, changes(len(heat)), np.array(heat) * scale, 0.02, loss, dead_s)
    assert more == pytest.approx(scale * one, rel=1e-9, abs=1e-9)


@given(heat=HEATS, loss=LOSSES, dead_s=st.floats(0.0, 400.0))
def test_nothing_depends_on_how_finely_the_heat_is_cut(heat: list[float], loss: float, dead_s: float) -> None:
    coarse = driven_response(TIME, changes(len(heat)), np.array(heat), 0.02, loss, dead_s)
    fine_s = np.arange(0.0, 250.0 * len(heat), 10.0)
    fine = driven_response(TIME, fine_s, np.repeat(heat, 25), 0.02, loss, dead_s)
    assert fine == pytest.approx(coarse, rel=1e-7, abs=1e-7)


def test_steady_heat_gives_the_step_responses() -> None:
    first, rising = FirstOrder(60.0, 30.0, 500.0), Integrating(0.02, 30.0)
    on = np.zeros(1), np.ones(1)
    assert driven_response(TIME, *on, first.slope, 1.0 / 500.0, 30.0) == pytest.approx(
        first.step_response(TIME)
    )
    assert driven_response(TIME, *on, 0.02, 0.0, 30.0) == pytest.approx(rising.step_response(TIME))


@pytest.mark.parametrize("loss", [0.0, 3e-3, 0.04, -2e-4])
def test_it_agrees_with_an_integrator(loss: float) -> None:
    at_s, heat = np.array([0.0, 300.0, 660.0, 960.0]), np.array([0.0, 1.0, 0.0, 0.4])

    def slope(time_s: float, rise: np.ndarray) -> np.ndarray:
        row = int(np.searchsorted(at_s, time_s - 45.0, side="right")) - 1
        return 0.02 * (heat[row] if row >= 0 else 0.0) - loss * rise

    solved = solve_ivp(slope, (0.0, 3000.0), [0.0], t_eval=TIME, max_step=2.0, rtol=1e-8)
    assert driven_response(TIME, at_s, heat, 0.02, loss, 45.0) == pytest.approx(solved.y[0], abs=0.02)
