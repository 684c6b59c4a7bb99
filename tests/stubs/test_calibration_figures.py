"""What a calibration tells of rigs of known dead time, gain and time constant; both cores tell the same."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.stubs.calibration_rig import Rig, calibrate, integrator, slope
from tests.stubs.controller_rig import CController, PythonController

from response import Model, Response, gains_of, log_of_ratio, model_of  # isort: skip

RIGS = {
    "a tank with a lid": Rig(300.0, 22000.0, 43.0),
    "a kettle without a lid": Rig(60.0, 4000.0, 25.0),
    "a small pot": Rig(90.0, 1500.0, 20.0),
    "behind the mash": Rig(250.0, 20000.0, 180.0),
    "still cooling from before": Rig(300.0, 22000.0, 43.0, start=15.0),
}


@pytest.mark.parametrize("rig", RIGS.values(), ids=list(RIGS))
def test_the_figures_are_the_rig_s(rig):
    found, sent = calibrate(PythonController(), rig)
    assert found["calibration"] == 5
    assert found["gain"] == pytest.approx(rig.gain * 1000, rel=0.03)
    assert found["time_constant"] == pytest.approx(rig.time_constant * 1000, rel=0.03)
    assert found["slope"] == pytest.approx(slope(rig) * 1e6, rel=0.02)
    assert found["dead_time"] == pytest.approx(rig.dead_time * 1000, abs=2500)
    assert len(sent) < 2.5 * 3600
    assert calibrate(CController(), rig)[0] == found


@pytest.mark.parametrize("dead_time", [20.0, 60.0])
def test_a_rig_that_loses_nothing_is_told_as_an_integrator(dead_time):
    found, sent = calibrate(PythonController(), integrator(0.012, dead_time))
    assert (found["calibration"], found["gain"], found["time_constant"]) == (5, 0, 0)
    assert found["slope"] == pytest.approx(12000, rel=0.02)
    assert found["dead_time"] == pytest.approx(dead_time * 1000, abs=2500)
    assert len(sent) < 4 * 3600
    assert calibrate(CController(), integrator(0.012, dead_time))[0] == found


@given(st.integers(1, 50000), st.integers(1, 19000))
def test_the_logarithm_is_that_of_the_library(two, more):
    one = two + max(two * more // 1000, 1)
    assert log_of_ratio(one, two) == pytest.approx(math.log(one / two) * 1e6, rel=1e-4, abs=3)


@given(
    st.floats(20.0, 600.0), st.floats(900.0, 40000.0), st.floats(-20.0, 20.0), st.sampled_from((2, 4, 8)),
    st.floats(0.1, 1.0),
)  # fmt: skip
def test_means_of_an_exponential_give_its_gain_and_time_constant(gain, time_constant, start, blocks, fired):
    """Three means on the exponential toward `end`, all in K and s; without heat it falls toward 0."""
    apart = blocks * 225.0
    end = gain * fired
    assume(0.06 < math.exp(-apart / time_constant) < 0.97)
    decay = math.exp(-apart / time_constant)
    first = end - (end - start) * 0.8
    assume(abs(end - first) * (1 - decay) > 3.0)
    seen = Response()
    unheated, seen.drift_ms = 5.0, 400000
    later = unheated * math.exp(-400 / time_constant)
    seen.base, seen.drift = round(later * 1000), round((later - unheated) * 1000)
    seen.first, seen.apart_ms = round(first * 1000), round(apart * 1000)
    seen.middle = round((end - (end - first) * decay) * 1000)
    seen.last = round((end - (end - first) * decay**2) * 1000)
    seen.fired_ms, seen.passed_ms = round(fired * 1e6), 10**6
    seen.seen_ms, seen.rise = 10**6, 500
    model = model_of(seen)
    assert model is not None
    assert model.time_constant_ms == pytest.approx(time_constant * 1000, rel=0.03)
    assert model.gain == pytest.approx(gain * 1000, rel=0.05)


@given(st.integers(1000, 400000), st.integers(100, 1000000), st.sampled_from((0, 100000, 22000000)))
def test_the_setting_is_simc_s(dead_time_ms, slope, time_constant_ms):
    """SIMC, Skogestad 2003: K_c = 1 / (k' 2 theta), tau_I = min(tau, 8 theta); gain bounded to 1 to 10000."""
    model = Model()
    model.dead_time_ms, model.slope, model.time_constant_ms = dead_time_ms, slope, time_constant_ms
    gains = gains_of(model, 30000)
    theta = Fraction(dead_time_ms + 15000, 1000)
    exact = 1000 / (Fraction(slope, 10**6) * 2 * theta)
    assert gains.gain == min(max(int(exact), 1), 10000)
    times = [8 * theta * 1000] + ([time_constant_ms] if time_constant_ms else [])
    assert gains.integral_ms == min(times)
    assert gains.derivative_ms == 0


@pytest.mark.parametrize(
    ("gain", "time_constant", "dead_time", "expected"),
    [(1.0, 10.0, 1.0, (5.0, 8.0)), (2.0, 100.0, 20.0, (1.25, 100.0))],
)
def test_the_setting_is_that_of_worked_figures(gain, time_constant, dead_time, expected):
    """SIMC PI with the closed loop's time constant = theta: K_c = T / (K 2 theta), tau_I = min(T, 8 theta).

    Figures worked out by hand from the rule of Skogestad 2003; permille per kelvin, so 1000 times K_c.
    """
    model = Model()
    model.slope, model.gain = round(gain / time_constant * 1e6), round(gain * 1000)
    model.time_constant_ms, model.dead_time_ms = round(time_constant * 1000), round(dead_time * 1000)
    gains = gains_of(model, 0)
    assert (gains.gain / 1000, gains.integral_ms / 1000) == expected


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"fired_ms": 0}, "nothing burned"),
        ({"first": 30000, "middle": 29900, "last": 29800}, "heat cools"),
        ({"first": 30000, "middle": 30000, "last": 30000}, "heat does nothing"),
    ],
)
def test_what_fits_no_model_gives_none(changes, why):
    seen = Response()
    seen.base, seen.drift, seen.drift_ms, seen.apart_ms = 20000, 0, 400000, 3600000
    seen.first, seen.middle, seen.last = 22000, 30000, 37000
    seen.fired_ms, seen.passed_ms, seen.seen_ms, seen.rise = 10**6, 5 * 10**6, 80000, 500
    assert model_of(seen) is not None
    for name, value in changes.items():
        setattr(seen, name, value)
    assert model_of(seen) is None, why
