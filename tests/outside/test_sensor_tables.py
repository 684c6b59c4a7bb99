"""Sensors against published tables and codes. Where a figure is from memory, the case says so."""

from math import log

import pytest
from ht import Nu_cylinder_Churchill_Bernstein

from plants.sensors import digital
from plants.sensors.cold_junction import compensated, degrees_added, measured_uv
from plants.sensors.ntc import Beta, SteinhartHart, fitted
from plants.sensors.platinum import HIGHEST, LOWEST, PT100, PT1000, other_curve
from plants.sensors.response import SHEATHS, TABLE_SPEED, film
from plants.sensors.thermocouple import J, K, T, Thermocouple
from plants.sensors.tolerance import COUPLES, DIGITAL, PLATINUM

# IEC 60751: the equation's exact values; 60 to 78 degC agree with ten independent public tables in whole
# degrees (123.24, 125.16, 125.54, 126.31, 127.84, 129.37, 130.13 ohm).
PT100_OHM = {
    -200: 18.5201, -100: 60.2558, -50: 80.3063, 0: 100.0, 20: 107.7935, 25: 109.7347, 50: 119.3971,
    60: 123.2419,
    65: 125.1600, 66: 125.5432, 68: 126.3094, 72: 127.8404, 76: 129.3695, 78: 130.1334, 80: 130.8968,
    100: 138.5055, 150: 157.3251, 200: 175.8560, 300: 212.0515, 400: 247.0920, 600: 313.7080, 850: 390.4811,
}  # fmt: skip
PRINTED_OHM = {60: 123.24, 65: 125.16, 66: 125.54, 68: 126.31, 72: 127.84, 76: 129.37, 78: 130.13}


@pytest.mark.parametrize(("temp", "ohm"), PT100_OHM.items())
def test_platinum_table(temp: float, ohm: float) -> None:
    assert PT100.ohm(temp) == pytest.approx(ohm, abs=5.1e-5)
    assert PT1000.ohm(temp) == pytest.approx(10 * ohm, abs=5.1e-4)
    assert PT100.temperature(ohm) == pytest.approx(temp, abs=2e-4)


@pytest.mark.parametrize(("temp", "ohm"), PRINTED_OHM.items())
def test_platinum_as_public_tables_print_it(temp: float, ohm: float) -> None:
    assert round(PT100.ohm(temp), 2) == ohm


def test_platinum_constants_and_range() -> None:
    # Coefficients and alpha: IEC 60751:2008 and ASTM E1137; range: scope of the 2020/2022 draft.
    assert (PT100.a, PT100.b, PT100.c) == (3.9083e-3, -5.775e-7, -4.183e-12)
    assert (PT100.ohm(100.0) - 100.0) / 100.0 / 100.0 == pytest.approx(3.851e-3, abs=5e-7)
    assert (LOWEST, HIGHEST) == (-200.0, 850.0)


def test_slope_and_one_ohm_of_lead_at_66_degrees() -> None:
    assert PT100.slope(66.0) == pytest.approx(0.3832, abs=5e-5)
    assert PT100.temperature(PT100.ohm(66.0) + 1.0) - 66.0 == pytest.approx(2.6, abs=0.05)


def test_the_other_published_coefficients() -> None:
    other = other_curve(PT100)
    assert (other.r0, other.a, other.b) == (100.0, 3.9827e-3, -5.875e-7)
    assert other.ohm(100.0) == pytest.approx(100.0 * (1 + 0.39827 - 0.005875), abs=1e-9)


@pytest.mark.parametrize(
    ("name", "constant", "share"), [("AA", 0.10, 0.0017), ("A", 0.15, 0.002), ("B", 0.30, 0.005)]
)
@pytest.mark.parametrize("temp", [-50.0, 0.0, 66.0, 150.0])
def test_platinum_tolerance(name: str, constant: float, share: float, temp: float) -> None:
    # IEC 60751 as quoted on a public instrument page.
    assert PLATINUM[name].limit(temp) == pytest.approx(constant + share * abs(temp))


@pytest.mark.parametrize(("name", "ohm"), [("AA", 0.04), ("A", 0.06), ("B", 0.12)])
def test_platinum_tolerance_in_ohm_at_0(name: str, ohm: float) -> None:
    assert round(PLATINUM[name].limit(0.0) * PT100.slope(0.0), 2) == ohm


@pytest.mark.parametrize(("name", "kelvin"), [("A", 0.282), ("B", 0.630)])
def test_platinum_tolerance_at_66(name: str, kelvin: float) -> None:
    assert PLATINUM[name].limit(66.0) == pytest.approx(kelvin)


# NIST Monograph 175 / SRD 60 through thermocouples_reference 0.20, reference junction at 0 degC, mV. T at
# -200, -100, -50 also on the NIST table.
TEMPS = (-200, -100, -50, -20, 0, 20, 25, 50, 60, 65, 68, 76, 80, 100, 200, 400, 1000)
MILLIVOLTS = {
    K: (-5.8914, -3.5536, -1.8894, -0.7775, 0, 0.7981, 1.0002, 2.0231, 2.4365, 2.6437, 2.7682, 3.1005, 3.2666,
        4.0962, 8.1385, 16.3971, 41.2756),
    J: (-7.8905, -4.6325, -2.4313, -0.9947, 0, 1.0191, 1.2773, 2.5853, 3.1157, 3.3822, 3.5425, 3.9714, 4.1866,
        5.2689, 10.7787, 21.8481, 57.9534),
    T: (-5.6030, -3.3786, -1.8190, -0.7568, 0, 0.7896, 0.9920, 2.0357, 2.4682, 2.6875, 2.8201, 3.1772, 3.3577,
        4.2785, 9.2881, 20.8720),
}  # fmt: skip
COUPLE_TABLE = [(c, t, mv) for c, row in MILLIVOLTS.items() for t, mv in zip(TEMPS, row, strict=False)]
# Independent public tables, three digits.
PUBLIC_TABLE = [(K, 80, 3.267), (K, 90, 3.682), (K, 100, 4.096), (K, 101, 4.138), (J, 100, 5.269),
                (T, -200, -5.603), (T, -100, -3.379), (T, -50, -1.819)]  # fmt: skip


def _name(value: object) -> str:
    return value.letter if isinstance(value, Thermocouple) else str(value)


@pytest.mark.parametrize(("couple", "temp", "mv"), COUPLE_TABLE, ids=_name)
def test_thermocouple_table(couple: Thermocouple, temp: float, mv: float) -> None:
    assert couple.emf(temp) / 1000.0 == pytest.approx(mv, abs=5.1e-5)
    assert couple.temperature(mv * 1000.0) == pytest.approx(temp, abs=0.004)


@pytest.mark.parametrize(("couple", "temp", "mv"), PUBLIC_TABLE, ids=_name)
def test_thermocouple_as_public_tables_print_it(couple: Thermocouple, temp: float, mv: float) -> None:
    assert couple.emf(temp) / 1000.0 == pytest.approx(mv, abs=5.1e-4)


@pytest.mark.parametrize(("couple", "slope"), [(K, 41.51), (J, 53.49), (T, 44.32)], ids=_name)
def test_seebeck_at_68(couple: Thermocouple, slope: float) -> None:
    assert couple.seebeck(68.0) == pytest.approx(slope, abs=0.0051)


@pytest.mark.parametrize(
    ("couple", "low", "high"), [(K, -270, 1372), (J, -210, 1200), (T, -270, 400)], ids=_name
)
def test_thermocouple_range(couple: Thermocouple, low: float, high: float) -> None:
    # NIST SRD 60; the upper end of T from memory.
    assert (couple.low, couple.high) == (low, high)


@pytest.mark.parametrize(
    ("couple", "mv", "temp"),
    [(K, 4.096, 99.994), (K, 20.644, 499.993), (K, -5.891, -199.974), (J, 5.269, 100.002),
     (J, -4.633, -100.012), (T, 4.279, 100.010), (T, 9.288, 199.998)],
    ids=_name,
)  # fmt: skip
def test_thermocouple_inverse_points(couple: Thermocouple, mv: float, temp: float) -> None:
    assert couple.temperature(mv * 1000.0) == pytest.approx(temp, abs=5.1e-4)


# NIST SRD 60; printed to two digits. K seen on the stored page, J and T from memory.
BANDS = [
    (K, -200, 0, -0.02, 0.04), (K, 0, 500, -0.05, 0.04), (K, 500, 1372, -0.05, 0.06),
    (J, -210, 0, -0.05, 0.03), (J, 0, 760, -0.04, 0.04), (J, 760, 1200, -0.04, 0.03),
    (T, -200, 0, -0.02, 0.04), (T, 0, 400, -0.03, 0.03),
]  # fmt: skip


@pytest.mark.parametrize(("couple", "low", "high", "least", "most"), BANDS, ids=_name)
def test_error_bands_of_the_published_inverse(
    couple: Thermocouple, low: float, high: float, least: float, most: float
) -> None:
    temps = [low + (high - low) * i / 2000 for i in range(1, 2000)]
    errors = [couple.published_temperature(couple.emf(temp)) - temp for temp in temps]
    assert least - 0.005 <= min(errors)
    assert max(errors) <= most + 0.005
    assert max(errors) - min(errors) > 0.5 * (most - least)


def test_cold_junction() -> None:
    uv = measured_uv(K, 68.0, 23.0)
    assert uv == pytest.approx(1848.94, abs=0.0051)
    assert compensated(K, uv, 23.0) == pytest.approx(68.0, abs=1e-6)
    assert degrees_added(K, uv, 23.0) == pytest.approx(68.773, abs=5.1e-4)
    assert degrees_added(K, uv, 23.0) - 68.0 == pytest.approx(0.77, abs=0.0051)


@pytest.mark.parametrize(
    ("letter", "name", "constant", "share"),
    [("K", "1", 1.5, 0.004), ("K", "2", 2.5, 0.0075), ("J", "1", 1.5, 0.004), ("J", "2", 2.5, 0.0075),
     ("T", "1", 0.5, 0.004), ("T", "2", 1.0, 0.0075)],
)  # fmt: skip
@pytest.mark.parametrize("temp", [0.0, 68.0, 390.0])
def test_thermocouple_tolerance(letter: str, name: str, constant: float, share: float, temp: float) -> None:
    # IEC 60584-1, from memory.
    assert COUPLES[letter][name].limit(temp) == pytest.approx(max(constant, share * temp))


@pytest.mark.parametrize(("ohm", "temp"), [(5000, 41.460), (2000, 66.228), (30000, 2.169)])
def test_beta(ohm: float, temp: float) -> None:
    # Computed from the equation, 10 kohm and 3950 K.
    assert Beta(10e3, 3950.0).temperature(ohm) == pytest.approx(temp, abs=5.1e-4)


NTC_TEMPS = (0, 50, 65, 76, 78, 100)
NTC_OHM = {
    3950: (33620.6, 3588.2, 2086.4, 1444.0, 1353.9, 697.5),
    3435: (28704.3, 4101.2, 2559.3, 1858.4, 1757.1, 987.0),
}


@pytest.mark.parametrize(
    ("beta", "temp", "ohm"),
    [(beta, t, ohm) for beta, row in NTC_OHM.items() for t, ohm in zip(NTC_TEMPS, row, strict=True)],
)
def test_beta_table(beta: float, temp: float, ohm: float) -> None:
    assert Beta(10e3, beta).ohm(temp) == pytest.approx(ohm, abs=0.051)


# The 10 kohm part of a laser controller's manual.
WORKED = fitted((0.0, 32128.0), (25.0, 9814.0), (50.0, 3542.0))


def test_worked_fit() -> None:
    assert WORKED.a == pytest.approx(1.10415912e-3, abs=5.1e-12)
    assert WORKED.b == pytest.approx(2.38917947e-4, abs=5.1e-13)
    assert WORKED.c == pytest.approx(6.93162653e-8, abs=5.1e-17)


@pytest.mark.parametrize(
    ("ohm", "temp"),
    # 40 degC: printed as 5331 ohm in the stored copy, a misprint for 5231.
    [(32128, 0.0), (9814, 25.0), (3542, 50.0), (19549, 10.0001), (12262, 19.9994), (7908, 29.9978),
     (5231, 39.9985)],
)  # fmt: skip
def test_worked_fit_at_the_table_s_points(ohm: float, temp: float) -> None:
    assert WORKED.temperature(ohm) == pytest.approx(temp, abs=5.1e-5)
    assert WORKED.temperature(ohm) == pytest.approx(round(temp), abs=0.01)


def test_worked_fit_shows_the_misprint() -> None:
    assert abs(WORKED.temperature(5331.0) - 40.0) > 0.4


# A widely copied set of constants.
COPIED = SteinhartHart(1.009249522e-3, 2.378405444e-4, 2.019202697e-7)


@pytest.mark.parametrize(("ohm", "temp"), [(10000, 24.681), (2000, 70.999), (1000, 94.666)])
def test_widely_copied_constants(ohm: float, temp: float) -> None:
    assert COPIED.temperature(ohm) == pytest.approx(temp, abs=5.1e-4)


def test_an_open_circuit_reads_the_lowest_instead_of_absolute_zero() -> None:
    # The equation alone gives 1/T = infinity, so -273.15 degC, the symptom reported in public forums.
    assert 1.0 / (COPIED.a + COPIED.c * log(float("inf")) ** 3) - 273.15 == -273.15
    assert COPIED.temperature(float("inf")) == -55.0


@pytest.mark.parametrize(
    ("word", "temp"),
    [(0x07D0, 125.0), (0x0550, 85.0), (0x0191, 25.0625), (0x00A2, 10.125), (0x0008, 0.5), (0x0000, 0.0),
     (0xFFF8, -0.5), (0xFF5E, -10.125), (0xFE6F, -25.0625), (0xFC90, -55.0)],
)  # fmt: skip
def test_digital_codes(word: int, temp: float) -> None:
    # Data sheet's table of the one-wire thermometer; arithmetic.
    assert digital.word(digital.code(temp)) == word
    assert digital.temperature(digital.signed(word)) == temp


def test_code_of_a_conversion_with_too_little_power() -> None:
    assert digital.temperature(0x07FF) == pytest.approx(127.94, abs=0.0051)


@pytest.mark.parametrize(("bits", "most_ms"), [(9, 93.75), (10, 187.5), (11, 375.0), (12, 750.0)])
def test_conversion_time(bits: int, most_ms: float) -> None:
    # 12 bits: data sheet; the others from memory.
    assert 0.0 <= digital.CONVERSION_MS[bits] - most_ms < 1.0


def test_digital_range_step_and_error() -> None:
    assert (digital.LOWEST, digital.HIGHEST) == (-55.0, 125.0)
    assert digital.temperature(1) == 0.0625
    assert {DIGITAL.limit(temp) for temp in (-10.0, 20.0, 85.0)} == {0.5}
    assert digital.temperature(digital.POWER_ON) == 85.0
    assert len(digital.scratchpad(0)) == 9


@pytest.mark.parametrize(
    ("data", "check"),
    [(b"123456789", 0xA1), (bytes.fromhex("021CB801000000"), 0xA2),
     (bytes.fromhex("5005 4B46 7FFF 0C10"), 0x1C),
     (bytes(8), 0x00), (b"\xff" * 8, 0xC9)],
)  # fmt: skip
def test_crc_maxim_dow(data: bytes, check: int) -> None:
    # crccheck 1.3.1 and maker's application note.
    assert digital.crc8(data) == check


@pytest.mark.parametrize(
    ("name", "t50", "t90"),
    [("couple-1.5", 0.21, 0.60), ("couple-3", 1.2, 2.9), ("couple-6", 4.0, 9.6), ("welded-3", 0.22, 0.75),
     ("welded-6", 0.55, 2.6), ("resistance-3", 5.2, 9.8), ("resistance-6", 10.4, 23.2)],
)  # fmt: skip
def test_response_table(name: str, t50: float, t90: float) -> None:
    # A maker's table, water at 0.2 m/s; first order: t50 = 0.693 tau, t90 = 2.303 tau.
    sheath = SHEATHS[name]
    assert (sheath.t50_s, sheath.t90_s) == (t50, t90)
    assert sheath.lag_s * 2.303 == pytest.approx(t90, rel=5e-4)


@pytest.mark.parametrize("speed", [0.01, 0.05, 0.2, 0.4, 1.0, 3.0])
@pytest.mark.parametrize("diameter_mm", [1.5, 3.0, 6.0, 10.0])
def test_film_against_the_library_ht(speed: float, diameter_mm: float) -> None:
    reynolds, prandtl = speed * diameter_mm / 1000.0 / 4.415e-7, 2.764
    expected = Nu_cylinder_Churchill_Bernstein(reynolds, prandtl) * 0.6556 / (diameter_mm / 1000.0)
    assert film(speed, diameter_mm) == pytest.approx(expected, rel=1e-9)


def test_the_table_is_for_a_fifth_of_a_metre_per_second() -> None:
    assert TABLE_SPEED == 0.2
