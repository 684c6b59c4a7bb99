"""Circuits, digital codes, tolerance and response: properties over the whole range."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plants.sensors import digital
from plants.sensors.circuit import Converter, Divider, lead_error, self_heating
from plants.sensors.response import (
    SHEATHS,
    TABLE_SPEED,
    film,
    film_lag,
    immersion_for,
    lag,
    stem_share,
)
from plants.sensors.tolerance import COUPLES, DIGITAL, PLATINUM, Tolerance

CLASSES = st.sampled_from([*PLATINUM.values(), *COUPLES["K"].values(), *COUPLES["T"].values(), DIGITAL])
BITS = st.integers(8, 24)
DIVIDER = st.builds(Divider, st.floats(10.0, 1e6), st.booleans())
SPEED = st.floats(0.0, 5.0)
DIAMETER = st.floats(1.0, 20.0)


@given(DIVIDER, st.floats(0.1, 1e7))
def test_a_divider_comes_back(divider: Divider, ohm: float) -> None:
    share = divider.share(ohm)
    assert 0.0 < share < 1.0
    assert divider.ohm(share) == pytest.approx(ohm, rel=1e-9)


@given(DIVIDER)
def test_open_and_shorted_dividers_lie_at_opposite_ends(divider: Divider) -> None:
    assert divider.share(0.0) == 1.0 - divider.open_share
    assert divider.share(1e15) == pytest.approx(divider.open_share, abs=1e-8)


@given(BITS, st.floats(0.0, 1.0, exclude_max=True))
def test_counts_come_back_within_half_a_step(bits: int, share: float) -> None:
    converter = Converter(bits)
    assert abs(converter.share(converter.count(share)) - share) <= 0.5 / 2**bits


@given(BITS, st.floats(-10.0, 10.0))
def test_counts_stay_within_their_bits(bits: int, share: float) -> None:
    assert 0 <= Converter(bits).count(share) < 2**bits


@given(BITS, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_counts_never_fall(bits: int, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert Converter(bits).count(low) <= Converter(bits).count(high)


def test_leads_by_wires() -> None:
    assert [lead_error(wires, 0.5, 0.02) for wires in (2, 3, 4)] == [1.0, 0.02, 0.0]
    with pytest.raises(ValueError, match=r"wires = 5\. Use 2, 3 or 4"):
        lead_error(5, 0.5)


@given(st.floats(0.0, 0.01), st.floats(1.0, 1e5), st.floats(1e-3, 1.0))
def test_self_heating_grows_with_the_current_squared(current: float, ohm: float, dissipation: float) -> None:
    one, two = self_heating(current, ohm, dissipation), self_heating(2.0 * current, ohm, dissipation)
    assert two == pytest.approx(4.0 * one)


@given(st.integers(9, 12), st.floats(digital.LOWEST, digital.HIGHEST))
def test_a_code_comes_back_within_half_a_step(bits: int, temp: float) -> None:
    back = digital.temperature(digital.code(temp, bits))
    assert abs(back - temp) <= 0.5 * 2.0 ** (8 - bits)
    assert digital.signed(digital.word(digital.code(temp, bits))) == digital.code(temp, bits)


@given(st.floats(-1000.0, 1000.0))
def test_a_code_stays_in_the_range_of_the_sheet(temp: float) -> None:
    assert digital.LOWEST <= digital.temperature(digital.code(temp)) <= digital.HIGHEST


@given(st.integers(-880, 2000), st.integers(9, 12), st.integers(0, 71))
def test_the_check_finds_any_flipped_bit(code: int, bits: int, flipped: int) -> None:
    pad = bytearray(digital.scratchpad(code, bits))
    assert digital.crc8(bytes(pad)) == 0
    pad[flipped // 8] ^= 1 << flipped % 8
    assert digital.crc8(bytes(pad)) != 0


def test_a_true_85_degrees_differs_from_the_one_of_power_on() -> None:
    assert digital.scratchpad(digital.POWER_ON) != digital.scratchpad(digital.POWER_ON, powered_on=True)


@given(CLASSES, st.floats(-200.0, 850.0), st.floats(-1.0, 1.0))
def test_an_error_lies_in_its_class(kind: Tolerance, temp: float, place: float) -> None:
    assert abs(kind.error(temp, place)) <= kind.limit(temp)
    assert kind.limit(temp) >= kind.limit(0.0) > 0.0


@given(st.sampled_from(sorted(SHEATHS)))
def test_a_sheath_has_its_stated_lag_at_the_table_s_speed(name: str) -> None:
    sheath = SHEATHS[name]
    assert lag(sheath.lag_s, sheath.diameter_mm, TABLE_SPEED) == pytest.approx(sheath.lag_s)


@given(st.floats(0.1, 120.0), DIAMETER, SPEED, st.floats(1.01, 10.0))
def test_faster_water_shortens_the_lag(stated: float, diameter: float, speed: float, factor: float) -> None:
    slow, fast = lag(stated, diameter, speed + 0.01), lag(stated, diameter, (speed + 0.01) * factor)
    assert 0.0 < fast < slow


@given(DIAMETER, SPEED)
def test_film_and_its_lag_are_positive(diameter: float, speed: float) -> None:
    assert film(speed, diameter) > 0.0
    assert film_lag(speed, diameter) > 0.0


@given(DIAMETER, SPEED, st.floats(1e-6, 0.9))
def test_immersion_for_a_share_of_the_room(diameter: float, speed: float, share: float) -> None:
    depth = immersion_for(share, diameter, speed)
    assert stem_share(depth, diameter, speed) == pytest.approx(share, rel=1e-6)


@given(DIAMETER, SPEED, st.floats(0.0, 300.0))
def test_deeper_immersion_reads_truer(diameter: float, speed: float, depth: float) -> None:
    assert 0.0 < stem_share(depth + 1.0, diameter, speed) <= stem_share(depth, diameter, speed) <= 1.0
