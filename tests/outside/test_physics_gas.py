"""Fuel gas, orifices and the time to the lower flammability limit against published tables."""

import pytest

from plants import Plant
from plants.media.gas import BUTANE, METHANE, PROPANE, orifice_ft3_per_h, orifice_power_w
from plants.parts.gas_burner import GasBurner, parameters
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


def test_power_of_an_orifice():
    """Drill 57 (0.043 in), propane at 11 in w.c.: 5.87 ft3/h (formula) at 2560 Btu/ft3."""
    watts = orifice_power_w(0.043 * 25.4, 11.0 * 0.249089, PROPANE)
    assert watts == pytest.approx(5.87 * 2560.0 * 1055.056 / 3600.0, rel=0.01)


# Heating value per volume at 15 degC from chemicals and CoolProp: 95.59, 37.74 and 125.95 MJ/m3.
@pytest.mark.parametrize(("gas", "per_m3"), [(PROPANE, 95.59), (METHANE, 37.74), (BUTANE, 125.95)])
def test_heating_value_per_volume(gas, per_m3):
    assert gas.heating_value * gas.density / 1e6 == pytest.approx(per_m3, abs=0.02)


class Space(Plant):
    """A burner of 10 kW over a block, in a closed space of 100 L."""

    name, about, diagram = "space", "test", ""
    parameters = parameters()

    def build(self, net, setup):
        burner = GasBurner(net, net.node("block", 1e5, 20.0), setup)
        net.signal("unburned_gas", "%", "test", lambda _: burner.unburned_text())
        net.actuator("valve", "bool", "test", burner.command_valve)


# 10 kW (higher heating value) into a well-mixed 100 L: 20.3 s (propane) and 19.4 s (methane) to the limit of
# NFPA 497, worked from the table values with -ln(1 - LFL) V / q.
@pytest.mark.parametrize(("gas", "seconds"), [(0.0, 20.3), (1.0, 19.4)])
def test_time_to_the_lower_flammability_limit(gas, seconds):
    space = Space(
        {"burner_power": 10.0, "fire_space": 100.0, "ventilation": 0.0, "gas": gas, "valve_open_time": 0.0}
    )
    space.command([1])
    while signal(space, "unburned_gas") < 100.0:
        space.advance(space.time_ms + 10)
    assert space.time_ms / 1000.0 == pytest.approx(seconds, abs=0.06)
