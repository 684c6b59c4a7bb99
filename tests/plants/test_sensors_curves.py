"""Sensor curves: there and back within the stated band, rising or falling all the way, bounded."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plants.sensors.cold_junction import compensated, measured_uv
from plants.sensors.ntc import HIGHEST, LOWEST, Beta, SteinhartHart, fitted
from plants.sensors.platinum import PT100, PT1000, Platinum, other_curve
from plants.sensors.thermocouple import J, K, T, Thermocouple

PLATINUM = st.sampled_from([PT100, PT1000, other_curve(PT100)])
COUPLES = st.sampled_from([K, J, T])
SHARE = st.floats(0.0, 1.0)
BETA = st.builds(Beta, st.floats(100.0, 1e6), st.floats(2500.0, 5000.0))
POLYNOMIAL = st.sampled_from([
    fitted((0.0, 32128.0), (25.0, 9814.0), (50.0, 3542.0)),
    SteinhartHart(1.009249522e-3, 2.378405444e-4, 2.019202697e-7),
])  # fmt: skip


def between(low: float, high: float, share: float) -> float:
    return low + (high - low) * share


@given(PLATINUM, st.floats(-200.0, 850.0))
def test_platinum_comes_back_within_a_nanokelvin(sensor: Platinum, temp: float) -> None:
    assert sensor.temperature(sensor.ohm(temp)) == pytest.approx(temp, abs=1e-9)


@given(PLATINUM, st.floats(-200.0, 849.0), st.floats(1e-3, 1.0))
def test_platinum_rises(sensor: Platinum, temp: float, step: float) -> None:
    assert sensor.ohm(temp + step) > sensor.ohm(temp)
    chord = (sensor.ohm(temp + 1e-3) - sensor.ohm(temp - 1e-3)) / 2e-3
    assert sensor.slope(temp) == pytest.approx(chord, rel=1e-5)


@given(PLATINUM, st.floats(0.0, 1e9))
def test_platinum_reads_any_resistance(sensor: Platinum, ohm: float) -> None:
    assert -250.0 < sensor.temperature(ohm) < 3500.0


def test_platinum_shorted() -> None:
    assert PT100.temperature(0.0) == pytest.approx(-242.02, abs=0.005)


@given(COUPLES, SHARE)
def test_thermocouple_comes_back_within_a_microkelvin(couple: Thermocouple, share: float) -> None:
    temp = between(couple.low, couple.high, share)
    assert couple.temperature(couple.emf(temp)) == pytest.approx(temp, abs=1e-6)


@given(COUPLES, SHARE, st.floats(0.01, 5.0))
def test_thermocouple_rises(couple: Thermocouple, share: float, step: float) -> None:
    temp = between(couple.low - 50.0, couple.high + 50.0, share)
    assert couple.emf(temp + step) > couple.emf(temp)
    assert couple.seebeck(temp) > 0.7


@given(COUPLES, st.floats(-20e3, 100e3))
def test_thermocouple_reads_any_voltage(couple: Thermocouple, uv: float) -> None:
    assert couple.emf(couple.temperature(uv)) == pytest.approx(uv, abs=1e-3)
    low, high = (-211.0, 1201.0) if couple is J else (-201.0, couple.high + 1.0)
    assert low < couple.published_temperature(uv) < high


@pytest.mark.parametrize(("couple", "joint"), [(K, 0.0), (J, 760.0), (T, 0.0)])
def test_the_pieces_of_a_thermocouple_meet(couple: Thermocouple, joint: float) -> None:
    gap = couple.emf(joint) - couple.emf(joint - 1e-9)
    assert abs(gap) < 1e-3
    assert couple.temperature(couple.emf(joint) - gap / 2) == pytest.approx(joint, abs=1e-4)


@given(COUPLES, SHARE, st.floats(-20.0, 60.0))
def test_compensation_gives_the_hot_end(couple: Thermocouple, share: float, cold: float) -> None:
    hot = between(couple.low, couple.high, share)
    assert compensated(couple, measured_uv(couple, hot, cold), cold) == pytest.approx(hot, abs=1e-6)


@given(COUPLES, st.floats(-20.0, 60.0))
def test_no_difference_no_voltage(couple: Thermocouple, temp: float) -> None:
    assert measured_uv(couple, temp, temp) == 0.0


@given(BETA, st.floats(LOWEST, HIGHEST))
def test_beta_comes_back_within_a_nanokelvin(part: Beta, temp: float) -> None:
    assert part.temperature(part.ohm(temp)) == pytest.approx(temp, abs=1e-9)


@given(POLYNOMIAL, st.floats(LOWEST, HIGHEST))
def test_steinhart_hart_comes_back_within_a_microkelvin(part: SteinhartHart, temp: float) -> None:
    assert part.temperature(part.ohm(temp)) == pytest.approx(temp, abs=1e-6)


@given(st.one_of(BETA, POLYNOMIAL), st.floats(LOWEST, HIGHEST - 1.0), st.floats(1e-3, 1.0))
def test_thermistors_fall(part: Beta | SteinhartHart, temp: float, step: float) -> None:
    assert part.ohm(temp + step) < part.ohm(temp)


@given(st.one_of(BETA, POLYNOMIAL), st.floats(0.0, 1e15))
def test_thermistors_read_any_resistance(part: Beta | SteinhartHart, ohm: float) -> None:
    assert LOWEST <= part.temperature(ohm) <= HIGHEST


@given(POLYNOMIAL, st.tuples(st.floats(-20.0, 20.0), st.floats(25.0, 60.0), st.floats(65.0, 120.0)))
def test_a_fit_finds_the_constants_again(part: SteinhartHart, temps: tuple[float, float, float]) -> None:
    one, two, three = ((temp, part.ohm(temp)) for temp in temps)
    again = fitted(one, two, three)
    assert (again.a, again.b, again.c) == pytest.approx((part.a, part.b, part.c), rel=1e-6)


def test_a_fit_needs_three_points() -> None:
    with pytest.raises(ValueError, match=r"same resistance\. Give three"):
        fitted((0.0, 1000.0), (25.0, 1000.0), (50.0, 300.0))
