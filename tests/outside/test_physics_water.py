"""Water and air against IAPWS-IF97 (iapws), IAPWS-95 (CoolProp) and the standard atmosphere (fluids)."""

import pytest
from CoolProp.CoolProp import PropsSI
from fluids.atmosphere import ATMOSPHERE_1976
from iapws import IAPWS97
from iapws.iapws97 import _PSat_T, _TSat_P

from plants.media.air import moisture_kpa, pressure_kpa
from plants.media.water import (
    SPECIFIC_HEAT,
    boiling_point,
    density,
    fast_vapour_kpa,
    latent_heat,
    saturation_kpa,
)

TEMPERATURES = [5.0, 20.0, 40.0, 50.0, 60.0, 65.0, 70.0, 80.0, 90.0, 95.0, 100.0, 105.0]


@pytest.mark.parametrize("temp", TEMPERATURES)
def test_saturation_pressure_is_if97(temp):
    assert saturation_kpa(temp) == pytest.approx(_PSat_T(temp + 273.15) * 1000.0, rel=1e-9)
    assert fast_vapour_kpa(temp) == pytest.approx(_PSat_T(temp + 273.15) * 1000.0, rel=0.0026)


@pytest.mark.parametrize("temp", TEMPERATURES)
def test_density_and_latent_heat_are_if97(temp):
    liquid, vapour = IAPWS97(T=temp + 273.15, x=0), IAPWS97(T=temp + 273.15, x=1)
    assert density(temp) == pytest.approx(liquid.rho, rel=1e-4)
    assert latent_heat(temp) == pytest.approx((vapour.h - liquid.h) * 1000.0, rel=5e-4)


@pytest.mark.parametrize("temp", [20.0, 60.0, 95.0])
def test_density_and_latent_heat_agree_with_coolprop(temp):
    kelvin = temp + 273.15
    assert density(temp) == pytest.approx(PropsSI("D", "T", kelvin, "Q", 0, "Water"), rel=2e-4)
    vapour, liquid = (PropsSI("H", "T", kelvin, "Q", quality, "Water") for quality in (1, 0))
    assert latent_heat(temp) == pytest.approx(vapour - liquid, rel=5e-4)


@pytest.mark.parametrize("temp", [10.0, 40.0, 67.0, 78.0, 95.0, 100.0])
def test_one_specific_heat_is_within_a_tenth_of_a_degree_of_if97(temp):
    start, end = IAPWS97(T=293.15, x=0).h, IAPWS97(T=temp + 273.15, x=0).h
    assert 20.0 + (end - start) * 1000.0 / SPECIFIC_HEAT == pytest.approx(temp, abs=0.08)


# IAPWS-IF97 at 101.325 kPa (liquid) and saturation: density, latent heat [kJ/kg], vapour pressure [kPa].
TABLE = [
    (4, 999.975, 2491.42, 0.8135), (20, 998.206, 2453.55, 2.3392), (40, 992.224, 2406.00, 7.3844),
    (50, 988.047, 2381.97, 12.3513), (60, 983.211, 2357.69, 19.9458), (65, 980.566, 2345.43, 25.0411),
    (70, 977.779, 2333.08, 31.2006), (80, 971.803, 2308.07, 47.4147), (90, 965.319, 2282.56, 70.1824),
    (95, 961.895, 2269.60, 84.6089), (105, 954.71, 2243.18, 120.902),
]  # fmt: skip


@pytest.mark.parametrize(("temp", "rho", "latent", "vapour"), TABLE)
def test_water_table(temp, rho, latent, vapour):
    assert density(temp) == pytest.approx(rho, rel=1e-4)
    assert latent_heat(temp) / 1000.0 == pytest.approx(latent, rel=5e-4)
    assert saturation_kpa(temp) == pytest.approx(vapour, abs=6e-5 if temp < 100 else 6e-4)


def test_heat_from_20_to_67_degrees():
    """196.50 kJ/kg by IF97."""
    heat = SPECIFIC_HEAT * (67.0 - 20.0)
    assert heat / 1000.0 == pytest.approx(196.50, rel=0.0015)


@pytest.mark.parametrize(
    ("kpa", "temp"),
    [(50, 81.317), (60, 85.926), (70, 89.932), (80, 93.485), (90, 96.687), (95, 98.178), (100, 99.606),
     (101.325, 99.974), (105, 100.976), (110, 102.292), (120, 104.784)],
)  # fmt: skip
def test_boiling_table(kpa, temp):
    """Boiling temperature by pressure, iapws."""
    assert boiling_point(kpa) == pytest.approx(temp, abs=0.00051)


def test_weather_moves_the_boiling_point():
    """0.27 degC a kPa near 100 kPa, so 3 kPa move it by 0.8 degC."""
    assert boiling_point(100.5) - boiling_point(99.5) == pytest.approx(0.27, abs=0.01)


# IAPWS R7-97, tables 35 and 36: computer-program verification values.
@pytest.mark.parametrize(
    ("kelvin", "mpa"), [(300.0, 0.353658941e-2), (500.0, 2.63889776), (600.0, 12.3443146)]
)
def test_saturation_pressure_verification_values(kelvin, mpa):
    assert saturation_kpa(kelvin - 273.15) == pytest.approx(mpa * 1000.0, rel=1e-8)


@pytest.mark.parametrize(("mpa", "kelvin"), [(0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)])
def test_saturation_temperature_verification_values(mpa, kelvin):
    assert boiling_point(mpa * 1000.0) == pytest.approx(kelvin - 273.15, abs=1e-6)


@pytest.mark.parametrize("kpa", [50, 60, 70, 80, 85, 90, 95, 100, 101.325, 105, 110, 120])
def test_boiling_point_is_if97(kpa):
    assert boiling_point(kpa) == pytest.approx(_TSat_P(kpa / 1000.0) - 273.15, abs=1e-9)


# Altitude table: US Standard Atmosphere 1976 with IF97.
@pytest.mark.parametrize(
    ("altitude", "pascal", "boiling"),
    [(0, 101325.0, 99.974), (500, 95461.3, 98.313), (1000, 89876.3, 96.649), (1500, 84559.7, 94.984),
     (1600, 83527.7, 94.651), (2000, 79501.4, 93.317), (2500, 74691.8, 91.648), (3000, 70121.2, 89.977)],
)  # fmt: skip
def test_boiling_point_by_altitude(altitude, pascal, boiling):
    assert pressure_kpa(altitude) * 1000.0 == pytest.approx(pascal, abs=1.0)
    assert pressure_kpa(altitude) * 1000.0 == pytest.approx(ATMOSPHERE_1976(altitude).P, abs=1.0)
    assert boiling_point(pressure_kpa(altitude)) == pytest.approx(boiling, abs=0.001)


def test_moisture_of_a_room():
    """ASHRAE example of the evaporation table: air of 20 degC and 50 % holds 1.1696 kPa."""
    assert moisture_kpa(20.0, 50.0) == pytest.approx(1.1696, abs=1e-4)
