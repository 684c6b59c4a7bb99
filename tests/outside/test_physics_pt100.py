"""Platinum resistance thermometer against the table of IEC 60751."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plants.parts.pt100 import pt100_ohm, pt100_temperature

TABLE = {
    -200: 18.5201, -100: 60.2558, -50: 80.3063, 0: 100.0, 20: 107.7935, 25: 109.7347,
    50: 119.3971, 60: 123.2419, 65: 125.1600, 66: 125.5432, 68: 126.3094, 72: 127.8404,
    76: 129.3695, 78: 130.1334, 80: 130.8968, 100: 138.5055,
    150: 157.3251, 200: 175.8560, 300: 212.0515, 400: 247.0920, 600: 313.7080, 850: 390.4811,
}  # fmt: skip


@pytest.mark.parametrize(("temp", "ohm"), TABLE.items())
def test_table(temp, ohm):
    assert pt100_ohm(temp) == pytest.approx(ohm, abs=0.00006)
    assert pt100_temperature(ohm) == pytest.approx(temp, abs=0.0003)


@given(st.floats(-200.0, 850.0))
def test_inverse(temp):
    assert pt100_temperature(pt100_ohm(temp)) == pytest.approx(temp, abs=1e-9)


def test_slope_and_lead():
    """0.3832 ohm/K near 66 degC, and 1 ohm of lead reads 2.6 K too high."""
    assert pt100_ohm(66.5) - pt100_ohm(65.5) == pytest.approx(0.3832, abs=5e-5)
    assert pt100_temperature(pt100_ohm(66.0) + 1.0) - 66.0 == pytest.approx(2.6, abs=0.02)
