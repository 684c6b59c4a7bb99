"""Fuel gas, orifices and the time to the lower flammability limit against published tables."""

import pytest
from chemicals import LFL, CAS_from_any, Hfg
from chemicals.combustion import combustion_data
from CoolProp.CoolProp import PropsSI
from fluids import P_critical_flow

from plants import Plant, ready_plants
from plants.media.gas import (
    BUTANE,
    CUBIC_FOOT_M3,
    GASES,
    INCH_WC_PA,
    METHANE,
    PROPANE,
    choked_above_kpa,
    derated_share,
    orifice_ft3_per_h,
    orifice_power_w,
)
from plants.parts.burner_setup import choices, parameters
from plants.parts.gas_burner import GasBurner
from tests.plants.small_plants import signal

# BCcampus open plumbing textbook, 3rd ed., appendix 2 (K 0.90), cubic feet per hour: natural gas SG 0.60 at
# 7 in w.c., propane SG 1.50 at 11 in w.c.
ORIFICES = [
    (79, 0.0145, 0.842, 0.667), (76, 0.0200, 1.602, 1.270), (70, 0.0280, 3.139, 2.489),
    (68, 0.0310, 3.848, 3.051), (66, 0.0330, 4.361, 3.457), (65, 0.0350, 4.905, 3.889),
    (64, 0.0360, 5.190, 4.114), (62, 0.0380, 5.782, 4.584),
]  # fmt: skip


@pytest.mark.parametrize(("drill", "inch", "natural", "propane"), ORIFICES)
def test_orifice_table(drill, inch, natural, propane):
    assert orifice_ft3_per_h(inch, 7.0, 0.60) == pytest.approx(natural, abs=0.00051)
    assert orifice_ft3_per_h(inch, 11.0, 1.50) == pytest.approx(propane, abs=0.00051)


# NFPA 54 table E.1.1(a), natural gas at 7 in w.c.; the formula is within 1.5 %.
@pytest.mark.parametrize(
    ("inch", "flow"), [(0.0135, 0.73), (0.0145, 0.84), (0.0160, 1.04), (0.0180, 1.31), (0.02, 1.61)]
)
def test_orifice_table_of_the_gas_code(inch, flow):
    assert orifice_ft3_per_h(inch, 7.0, 0.60) == pytest.approx(flow, rel=0.015)


# Larger drills from the formula: natural gas at 7 in w.c. and SG 0.60, propane at 11 in w.c. and SG 1.50.
LARGE = [
    (60, 0.0400, 6.41, 5.08), (57, 0.0430, 7.40, 5.87), (55, 0.0520, 10.83, 8.58), (54, 0.0550, 12.11, 9.60),
    (53, 0.0595, 14.18, 11.24), (50, 0.0700, 19.62, 15.56), (47, 0.0785, 24.68, 19.56),
    (42, 0.0935, 35.01, 27.75), (40, 0.0980, 38.46, 30.49),
]  # fmt: skip


@pytest.mark.parametrize(("drill", "inch", "natural", "propane"), LARGE)
def test_larger_orifices(drill, inch, natural, propane):
    assert orifice_ft3_per_h(inch, 7.0, 0.60) == pytest.approx(natural, abs=0.0051)
    assert orifice_ft3_per_h(inch, 11.0, 1.50) == pytest.approx(propane, abs=0.0051)


@pytest.mark.parametrize(("inches", "kpa"), [(7.0, 1.744), (11.0, 2.740)])
def test_inches_of_water(inches, kpa):
    assert inches * INCH_WC_PA / 1000.0 == pytest.approx(kpa, abs=0.0005)


def test_power_of_an_orifice():
    """Drill 57 (0.043 in), propane at 11 in w.c.: 5.87 ft3/h (formula) at 2560 Btu/ft3."""
    watts = orifice_power_w(0.043 * 25.4, 11.0 * 0.249089, PROPANE)
    assert watts == pytest.approx(5.87 * 2560.0 * 1055.056 / 3600.0, rel=0.01)


# Heating value per volume at 15 degC from chemicals and CoolProp: 95.59, 37.74 and 125.95 MJ/m3.
@pytest.mark.parametrize(("gas", "per_m3"), [(PROPANE, 95.59), (METHANE, 37.74), (BUTANE, 125.95)])
def test_heating_value_per_volume(gas, per_m3):
    assert gas.heating_value * gas.density / 1e6 == pytest.approx(per_m3, abs=0.02)


# MJ/kg, kg/m3 at 15 degC, specific gravity (real), Btu/ft3 at 60 degF: chemicals 1.5.2 and CoolProp 8.0.0.
FUELS = [
    (METHANE, "methane", {"C": 1, "H": 4}, 55.52, 0.6798, 0.5547, 1011.0),
    (PROPANE, "propane", {"C": 3, "H": 8}, 50.33, 1.8992, 1.5497, 2560.0),
    (BUTANE, "butane", {"C": 4, "H": 10}, 49.50, 2.5442, 2.076, 3373.0),
]


@pytest.mark.parametrize(("gas", "name", "formula", "mj", "density", "gravity", "btu"), FUELS)
def test_fuel_from_enthalpies_of_formation(gas, name, formula, mj, density, gravity, btu):
    burned = combustion_data(formula=formula, Hf=Hfg(CAS_from_any(name)))
    assert gas.heating_value == pytest.approx(-burned.HHV / burned.MW * 1000.0, rel=2e-4)
    assert gas.heating_value / 1e6 == pytest.approx(mj, abs=0.0051)
    at = ("T", 288.15, "P", 101325.0)
    assert gas.density == pytest.approx(PropsSI("D", *at, name), rel=2e-4)
    assert gas.density == pytest.approx(density, abs=5.1e-5)
    assert gas.density / PropsSI("D", *at, "Air") == pytest.approx(gravity, rel=5e-4)
    per_ft3 = gas.heating_value * gas.density * CUBIC_FOOT_M3 / 1055.056
    assert per_ft3 == pytest.approx(btu, rel=0.003)  # 15 instead of 15.56 degC makes 0.2 %


# Lower limits: NFPA 497 as used here, IEC 60079-20-1 as told; data tables inside chemicals.
@pytest.mark.parametrize(
    ("gas", "name", "nfpa", "iec"),
    [(METHANE, "methane", 5.0, 4.4), (PROPANE, "propane", 2.1, 1.7), (BUTANE, "butane", 1.9, 1.4)],
)
def test_lower_flammability_limits(gas, name, nfpa, iec):
    number = CAS_from_any(name)
    assert gas.flammable_from == pytest.approx(nfpa)
    assert LFL(CASRN=number, method="NFPA 497 (2008)") == pytest.approx(nfpa / 100.0)
    assert LFL(CASRN=number, method="IEC 60079-20-1 (2010)") == pytest.approx(iec / 100.0)


# Choked from p_out / p_in 0.544 (methane) and 0.578 (propane): 0.85 and 0.74 bar gauge.
@pytest.mark.parametrize(("gas", "ratio", "bar"), [(METHANE, 0.544, 0.85), (PROPANE, 0.578, 0.74)])
def test_pressure_from_which_an_orifice_is_choked(gas, ratio, bar):
    kpa = choked_above_kpa(gas)
    assert 101.325 / (101.325 + kpa) == pytest.approx(ratio, abs=0.001)
    assert P_critical_flow(101.325 + kpa, gas.heat_ratio) == pytest.approx(101.325, rel=1e-9)
    assert kpa / 100.0 == pytest.approx(bar, abs=0.01)


def test_no_pressure_that_can_be_set_is_choked_at_sea_level():
    (pressure,) = (one for one in parameters() if one.name == "gas_pressure")
    assert all(pressure.high < choked_above_kpa(gas) for gas in GASES.values())


# UMC 2009 appendix B (NFPA 54-2002): 4 % less for each 1000 ft (300 m) above sea level, none below 2000 ft.
@pytest.mark.parametrize(
    ("altitude", "share"), [(0, 1.0), (500, 1.0), (600, 0.92), (1500, 0.80), (1600, 0.787), (3000, 0.60)]
)
def test_derating_by_altitude(altitude, share):
    assert derated_share(altitude) == pytest.approx(share, abs=0.001)


@pytest.mark.parametrize(
    ("setup", "watts"),
    [({}, 9000.0), ({"burner_at_altitude": "derated"}, 9000.0 * (1.0 - 0.04 * 1600.0 / 300.0)),
     ({"orifice_drill": 54.0}, 9.60 * 2560.0 * 1055.056 / 3600.0 * (83.5277 / 101.325) ** 0.5)],
)  # fmt: skip
def test_a_burner_at_1600_m(setup, watts):
    """As stated, as the code has it, and a drill 54 at 11 in w.c. with gas as thin as the air."""
    rig = ready_plants()["herms-gas"]({"altitude": 1600.0, **setup})
    rig.command([1, 1, 0])
    rig.advance(5000)
    assert signal(rig, "burner_heat") == pytest.approx(watts * 0.6, rel=0.01)


# 10 kW of the higher heating value: 0.105 L/s of propane, 0.265 L/s of methane.
@pytest.mark.parametrize(("gas", "litres"), [(PROPANE, 0.105), (METHANE, 0.265)])
def test_flow_of_gas_for_ten_kilowatts(gas, litres):
    assert 10e3 / gas.heating_value / gas.density * 1000.0 == pytest.approx(litres, abs=0.0006)


class Space(Plant):
    """A burner of 10 kW over a block, in a closed space of 100 L."""

    name, about, diagram = "space", "test", ""
    parameters = parameters()
    choices = choices()

    def build(self, net, setup):
        burner = GasBurner(net, net.node("block", 1e5, 20.0), setup)
        net.signal("unburned_gas", "%", "test", lambda _: burner.unburned_text())
        net.actuator("valve", "bool", "test", burner.command_valve)


# 10 kW (higher heating value) into a well-mixed 100 L: 20.3 s (propane) and 19.4 s (methane) to the limit of
# NFPA 497, worked from the table values with -ln(1 - LFL) V / q.
@pytest.mark.parametrize(("gas", "seconds"), [("propane", 20.3), ("natural-gas", 19.4)])
def test_time_to_the_lower_flammability_limit(gas, seconds):
    space = Space(
        {"burner_power": 10.0, "fire_space": 100.0, "ventilation": 0.0, "gas": gas, "valve_open_time": 0.0}
    )
    space.command([1])
    while signal(space, "unburned_gas") < 100.0:
        space.advance(space.time_ms + 10)
    assert space.time_ms / 1000.0 == pytest.approx(seconds, abs=0.06)
