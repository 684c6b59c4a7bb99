"""Tuning rules, margins and loop figures against published formulas, worked examples and python-control.

The table of settings and Ms for G = K exp(-L s) / (T s + 1) was computed once, outside this project, from the
formulas as their sources print them: Ziegler and Nichols 1942, Cohen and Coon 1953, Chien, Hrones and Reswick
1952 (recalled), Skogestad 2003, Grimholt and Skogestad 2012 and 2018, Astrom and Hagglund 2004 (recalled),
Tyreus and Luyben 1992 (recalled).
"""

from __future__ import annotations

import control
import numpy as np
import pytest

from harness.calibration.process import FirstOrder, Integrating
from harness.calibration.tuning.loop import step_figures
from harness.calibration.tuning.margins import margins
from harness.calibration.tuning.rules import RULES
from harness.calibration.tuning.settings import FILTER_SHARE, Settings
from harness.calibration.tuning.ultimate import ultimate

LAGS = FirstOrder(1.0, 1.0, 10.0)
WAITS = FirstOrder(2.0, 20.0, 100.0)

# Rule: (Kc, Ti, Td, Ms) for LAGS and for WAITS.
TABLE = {
    "zn-step-pi": ((9, 3.333, 0, 3.41), (2.25, 66.67, 0, 2.95)),
    "zn-step-pid": ((12, 2, 0.5, 4.20), (3, 40, 10, 4.07)),
    "zn-swing-pi": ((7.358, 3.208, 0, 2.58), (1.913, 62.01, 0, 2.43)),
    "zn-swing-pid": ((9.810, 1.925, 0.481, 2.58), (2.551, 37.21, 9.302, 2.61)),
    "cohen-coon-pi": ((9.083, 2.755, 0, 3.96), (2.292, 47.08, 0, 3.76)),
    "cohen-coon-pid": ((13.583, 2.362, 0.357, 4.60), (3.458, 45.48, 7.018, 4.47)),
    "chr-setpoint-pi": ((3.5, 12, 0, 1.36), (0.875, 120, 0, 1.36)),
    "chr-setpoint-pid": ((6, 10, 0.5, 1.69), (1.5, 100, 10, 1.66)),
    "chr-setpoint-20-pi": ((6, 10, 0, 1.77), (1.5, 100, 0, 1.77)),
    "chr-setpoint-20-pid": ((9.5, 14, 0.47, 2.67), (2.375, 140, 9.4, 2.58)),
    "chr-load-pi": ((6, 4, 0, 1.97), (1.5, 80, 0, 1.83)),
    "chr-load-pid": ((9.5, 2.4, 0.42, 2.34), (2.375, 48, 8.4, 2.29)),
    "chr-load-20-pi": ((7, 2.3, 0, 3.05), (1.75, 46, 0, 2.54)),
    "chr-load-20-pid": ((12, 2, 0.42, 3.48), (3, 40, 8.4, 3.34)),
    "simc-pi": ((5, 8, 0, 1.61), (1.25, 100, 0, 1.59)),
    "simc-improved-pi": ((5.167, 8, 0, 1.64), (1.333, 106.67, 0, 1.64)),
    "simc-improved-pid": ((5.208, 8.333, 0.320, 1.46), (1.333, 106.67, 6.25, 1.45)),
    "amigo-pi": ((2.824, 6.077, 0, 1.32), (0.603, 77.65, 0, 1.26)),
    "amigo-pid": ((4.7, 4.2, 0.485, 1.45), (1.225, 58.67, 9.434, 1.45)),
    "tyreus-luyben-pi": ((5.110, 8.47, 0, 1.62), (1.329, 163.7, 0, 1.59)),
    "tyreus-luyben-pid": ((7.432, 8.47, 0.611, 2.31), (1.932, 163.7, 11.81, 2.33)),
}


def test_the_table_has_every_rule() -> None:
    assert set(TABLE) == set(RULES)


@pytest.mark.parametrize("process", [LAGS, WAITS], ids=["lags", "waits"])
@pytest.mark.parametrize("name", TABLE)
def test_settings_and_sensitivity_of_the_table(name: str, process: FirstOrder) -> None:
    gain, integral, derivative, sensitivity = TABLE[name][process is WAITS]
    settings = RULES[name].settings(process)
    assert settings.gain == pytest.approx(gain, abs=6e-4)
    assert settings.integral_s == pytest.approx(integral, rel=3e-4)
    assert settings.derivative_s == pytest.approx(derivative, rel=3e-3)
    assert margins(process, settings).sensitivity == pytest.approx(sensitivity, abs=0.01)


@pytest.mark.parametrize(
    ("process", "ku", "pu"),
    [
        (LAGS, 16.3506, 3.8500),
        (WAITS, 4.25121, 74.4152),
        (FirstOrder(1.0, 1.0, 1.0), 2.26183, 3.09706),
        # By hand: an integrating process turns by half a circle at w = pi / 2L.
        (Integrating(0.1, 1.0), np.pi / 0.2, 4.0),
    ],
)
def test_the_ultimate_point(process: FirstOrder | Integrating, ku: float, pu: float) -> None:
    assert ultimate(process) == pytest.approx((ku, pu), rel=1e-5)


def test_the_margins_that_simc_is_known_for() -> None:
    """Skogestad 2003: tauc = theta, tauI = tau; and for an integrating process tauI = 8 theta."""
    of_lag = margins(WAITS, RULES["simc-pi"].settings(WAITS))
    assert (of_lag.sensitivity, of_lag.gain) == pytest.approx((1.590, 3.142), abs=1e-3)
    assert of_lag.phase_deg == pytest.approx(61.4, abs=0.1)
    drift = Integrating(0.02, 30.0)
    of_drift = margins(drift, RULES["simc-pi"].settings(drift))
    assert (of_drift.sensitivity, of_drift.gain) == pytest.approx((1.704, 2.963), abs=1e-3)
    assert of_drift.phase_deg == pytest.approx(46.9, abs=0.1)


def test_worked_examples_of_simc() -> None:
    """Skogestad 2003 with the half rule: (2.5, 1.47) gives Kc 0.8503; (1.1, 0.1) gives 5.5 and 0.8."""
    first = RULES["simc-pi"].settings(FirstOrder(1.0, 1.47, 2.5))
    assert (first.gain, first.integral_s) == pytest.approx((0.8503, 2.5), abs=1e-4)
    second = RULES["simc-pi"].settings(FirstOrder(1.0, 0.1, 1.1))
    assert (second.gain, second.integral_s) == pytest.approx((5.5, 0.8))


def test_the_simulated_loop_of_simc() -> None:
    """Overshoot 8.2 %, IAE 2.504, load IAE 1.600 = Ti / Kc, settled to 2 % in 10.0: computed elsewhere."""
    figures = step_figures(LAGS, RULES["simc-pi"].settings(LAGS))
    assert figures.overshoot == pytest.approx(0.082, rel=0.02)
    assert figures.iae == pytest.approx(2.504, rel=0.02)
    assert figures.load_iae == pytest.approx(1.600, rel=0.02)
    assert figures.settling_s == pytest.approx(10.0, rel=0.02)


@pytest.mark.parametrize("name", ["simc-pi", "amigo-pid", "chr-load-pi", "zn-step-pid"])
@pytest.mark.parametrize("process", [LAGS, WAITS], ids=["lags", "waits"])
def test_margins_by_python_control(name: str, process: FirstOrder) -> None:
    """The dead time as its exact frequency response; margins by python-control from samples."""
    settings = RULES[name].settings(process)
    w = np.geomspace(1e-2, 3e1, 2_000) / process.dead_time_s
    s = 1j * w
    lead = settings.derivative_s * s / (1.0 + settings.derivative_s / FILTER_SHARE * s)
    loop = settings.gain * (1.0 + 1.0 / (settings.integral_s * s) + lead)
    loop *= process.gain * np.exp(-process.dead_time_s * s) / (process.time_constant_s * s + 1.0)
    gain, phase, stability, *_ = control.stability_margins(control.frd(loop, w))
    ours = margins(process, settings)
    assert ours.gain == pytest.approx(gain, rel=1e-3)
    assert ours.phase_deg == pytest.approx(phase, abs=0.1)
    assert ours.sensitivity == pytest.approx(1.0 / stability, rel=1e-3)


@pytest.mark.parametrize("name", ["simc-pi", "amigo-pi", "chr-setpoint-pi"])
def test_overshoot_and_settling_by_python_control(name: str) -> None:
    """The dead time by a Pade approximation of order 8."""
    settings = RULES[name].settings(WAITS)
    s = control.tf("s")
    late = control.tf(*control.pade(WAITS.dead_time_s, 8))
    controller = settings.gain * (1 + 1 / (settings.integral_s * s))
    closed = control.feedback(controller * WAITS.gain / (WAITS.time_constant_s * s + 1) * late, 1)
    times = np.linspace(0.0, 1000.0, 20_001)
    rise = control.step_response(closed, times).outputs
    figures = step_figures(WAITS, settings)
    assert figures.overshoot == pytest.approx(max(0.0, rise.max() - 1.0), abs=0.003)
    assert figures.iae == pytest.approx(np.abs(1.0 - rise).sum() * 0.05, rel=0.02)
    outside = np.flatnonzero(np.abs(1.0 - rise) > 0.02)
    assert figures.settling_s == pytest.approx(times[outside[-1] + 1], rel=0.02)


def test_error_after_a_load_is_integral_time_over_gain() -> None:
    """Exact for PI and PID loops: the integral of the error equals Ti / Kc, whatever the process."""
    for settings in (Settings(0.5, 150.0), Settings(0.6, 120.0, 8.0)):
        figures = step_figures(WAITS, settings)
        assert figures.load_iae == pytest.approx(settings.integral_s / settings.gain, rel=0.01)


@pytest.mark.parametrize("ratio", [100.0, 1_000.0, 5_000.0])
def test_an_error_that_creeps_home_is_counted_to_its_end(ratio: float) -> None:
    """The same where Ti is far longer than the dead time; after a set point's step it is Ti / (Kc K)."""
    slow = FirstOrder(100.0, 20.0, 20.0 * ratio)
    settings = RULES["chr-setpoint-pi"].settings(slow)
    figures = step_figures(slow, settings)
    assert figures.load_iae == pytest.approx(settings.integral_s / settings.gain, rel=0.01)
    assert figures.iae == pytest.approx(settings.integral_s / settings.gain / slow.gain, rel=0.01)
