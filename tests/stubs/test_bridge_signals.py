"""The bridge's sums: from a value on the line to a timer's compare and a potentiometer's code."""

from __future__ import annotations

import math
import re
from ctypes import byref

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from tests.stubs.bridge_builds import BRIDGE, Pin, Resistor, build_signals

TICKS = 4096
INT32 = st.integers(-(2**31), 2**31 - 1)
THERMISTOR = Resistor(10_000_000, 75_000, 0, 0)
PT1000 = Resistor(10_000_000, 75_000, 820_000, 560_000)


@pytest.fixture(scope="module")
def c(tmp_path_factory):
    return build_signals(tmp_path_factory.mktemp("signals"))


def presented(it: Resistor, code: int) -> float:
    """Ohm at a code, by the data sheets' R_WB = R_AB * D / 256 + R_W and the parts around."""
    inner = (it.wiper_mohm + it.end_to_end_mohm * code / 256) / 1000
    if it.parallel_mohm:
        inner = 1 / (1 / inner + 1000 / it.parallel_mohm)
    return inner + it.series_mohm / 1000


def test_wiring_h_has_the_parts_that_are_tested():
    tables = re.findall(r"#define \w+ \{.*\}", (BRIDGE / "wiring.h").read_text())
    found = re.findall(r"= (\d+)", " ".join(tables))
    expected = [getattr(it, name) for it in (THERMISTOR, PT1000) for name, _ in Resistor._fields_]
    assert [int(word) for word in found] == expected


def test_a_converter_reads_back_what_the_line_said(c):
    """ADC = Vin * 1024 / Vref (ATmega328P data sheet): in the middle of the step."""
    readings = [c["pwm_ticks_of_counts"](counts) / TICKS * 1024 for counts in range(1024)]
    assert readings == [counts + 0.5 for counts in range(1024)]


@given(INT32, INT32)
def test_ticks_stay_in_a_period_and_rise_with_the_value(c, one, other):
    low, high = sorted((one, other))
    for ticks in (c["pwm_ticks_of_counts"], lambda uv: c["pwm_ticks_of_uv"](uv, 5_000_000)):
        assert 0 <= ticks(low) <= ticks(high) <= TICKS


@given(st.integers(0, 5_500_000), st.integers(4_500_000, 5_500_000))
def test_a_voltage_is_met_within_half_a_tick(c, uv, supply_uv):
    volts = c["pwm_ticks_of_uv"](uv, supply_uv) * supply_uv / TICKS
    assert abs(volts - min(uv, supply_uv)) <= supply_uv / TICKS / 2 + 1


@pytest.mark.parametrize(
    ("uv", "ticks"), [(-5, 0), (0, 0), (2_500_000, 2048), (5_000_000, 4096), (2**31 - 1, 4096)]
)
def test_ends_and_middle_of_a_voltage(c, uv, ticks):
    assert c["pwm_ticks_of_uv"](uv, 5_000_000) == ticks


@pytest.mark.parametrize("it", [THERMISTOR, PT1000])
@given(mohm=INT32)
def test_no_code_is_nearer_inside_the_potentiometer(c, it, mohm):
    code = c["wiper_code"](byref(it), mohm)
    best = min(range(256), key=lambda other: abs(presented(it, other) - mohm / 1000))
    assert abs(best - code) <= 1
    if not presented(it, 0) <= mohm / 1000 <= presented(it, 255):
        assert code == best


@pytest.mark.parametrize("it", [THERMISTOR, PT1000])
def test_each_code_is_found_from_its_own_resistance(c, it):
    ohms = [presented(it, code) for code in range(256)]
    assert [c["wiper_code"](byref(it), round(1000 * ohm)) for ohm in ohms] == list(range(256))


@given(st.integers(1, 2**31 - 1), st.lists(st.integers(0, 2**31 - 1), min_size=3, max_size=3), INT32)
def test_any_parts_give_a_code(c, end_to_end, others, mohm):
    """Undefined arithmetic would end the process."""
    it = Resistor(end_to_end, *others)
    assert 0 <= c["wiper_code"](byref(it), mohm) <= 255


@pytest.mark.parametrize(
    ("parts", "mohm", "code"),
    [
        ((10_000_000, 75_000, 820_000, 560_000), 1_380_000, 255),  # exactly what needs an endless resistance
        ((1000, 0, 0, 2**31 - 1), 2**31 - 2, 255),
        ((2**31 - 1, 0, 0, 0), 2**31 - 1, 255),
        ((1, 0, 2**31 - 1, 2**31 - 1), -(2**31), 0),
    ],
)
def test_parts_at_the_edges(c, parts, mohm, code):
    assert c["wiper_code"](byref(Resistor(*parts)), mohm) == code


def thermistor_ohm(degc: float) -> float:
    """10 kohm at 25 degC, beta 3950: the beta equation."""
    return 10_000 * math.exp(3950 * (1 / (degc + 273.15) - 1 / 298.15))


def pt1000_ohm(degc: float) -> float:
    """IEC 60751, above 0 degC."""
    return 1000 * (1 + 3.9083e-3 * degc - 5.775e-7 * degc**2)


@pytest.mark.parametrize(
    ("it", "ohm", "column"),
    [(THERMISTOR, thermistor_ohm, 1), (PT1000, pt1000_ohm, 2)],
    ids=["thermistor", "pt1000"],
)
def test_steps_in_kelvin_are_as_the_readme_says(c, it, ohm, column):
    readme = (BRIDGE / "README.md").read_text()
    rows = re.findall(r"^\| (\d+) °C \| ([\d.]+) K \| ([\d.]+) K \|", readme, re.M)
    assert len(rows) >= 4
    for row in rows:
        degc = float(row[0])
        code = c["wiper_code"](byref(it), round(1000 * ohm(degc)))
        step = abs(presented(it, code + 1) - presented(it, code - 1)) / 2
        kelvin = step / abs(ohm(degc + 0.5) - ohm(degc - 0.5))
        assert float(row[column]) == pytest.approx(kelvin, rel=0.02, abs=0.005), row


def test_the_filter_settles_and_ripples_as_the_readme_says():
    """Two sections of 4.7 kohm and 1 uF behind the pin: 1 / (1 + 3 s tau + (s tau)^2), simulated by scipy."""
    tau, period, per = 4.7e3 * 1e-6, TICKS / 16e6, 64
    low_pass = signal.TransferFunction([1.0], [tau**2, 3 * tau, 1.0])
    step_s, step = signal.step(low_pass, T=np.linspace(0.0, 0.2, 20_001))
    settled_s = step_s[np.flatnonzero(np.abs(step - 1.0) > 0.5 / 1024)[-1]]
    assert settled_s == pytest.approx(0.096, rel=0.02)
    time_s = np.arange(0, 0.3, period / per)
    square = 5.0 * ((np.arange(time_s.size) % per) < per // 2)
    _, volts, _ = signal.lsim(low_pass, square, time_s, interp=False)
    ripple = np.ptp(volts[-10 * per :])
    assert ripple == pytest.approx(0.45e-3, rel=0.1)
    assert ripple < 0.1 * 5.0 / 1024


def test_a_pin_counts_once_it_has_been_steady(c):
    pin = Pin(0, 1000)
    seen = [(1001, 1, 0), (1003, 1, 0), (1004, 0, 0), (1005, 1, 0), (1008, 1, 0), (1009, 1, 1)]
    seen += [(1010, 0, 1), (1013, 0, 1), (1014, 0, 0)]
    for now_ms, is_on, expected in seen:
        assert c["settled"](byref(pin), is_on, now_ms, 5) == expected, now_ms


def test_a_pin_settles_over_the_roll_over_of_the_clock(c):
    pin = Pin(0, 2**32 - 3)
    assert [c["settled"](byref(pin), 1, now, 5) for now in (2**32 - 2, 1, 2)] == [0, 0, 1]
