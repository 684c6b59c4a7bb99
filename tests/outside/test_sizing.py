"""Sizes against published tables and figures that were computed elsewhere."""

from __future__ import annotations

import pytest

from harness.calibration.sizing import coil, cycle, heat, orifice
from harness.calibration.sizing.heat import Charge
from harness.calibration.sizing.row import Row
from plants.media.gas import CUBIC_FOOT_M3, METHANE, PROPANE, Gas, drill_mm
from plants.parts.coil import Helix, coil_ua


def value(rows: list[Row], what: str) -> float:
    return next(row.value for row in rows if row.what == what)


# Drill, and ft3/h at 7 in w.c. of natural gas (SG 0.60) and at 11 in w.c. of propane (SG 1.50), K 0.90:
# BCcampus, open plumbing textbook, 3rd ed., appendix 2.
ORIFICES = [
    (79, 0.842, 0.667), (76, 1.602, 1.270), (70, 3.139, 2.489), (68, 3.848, 3.051),
    (66, 4.361, 3.457), (65, 4.905, 3.889), (64, 5.190, 4.114), (62, 5.782, 4.584),
]  # fmt: skip


@pytest.mark.parametrize(("gas", "kpa"), [(METHANE, 7 * 0.249089), (PROPANE, 11 * 0.249089)])
@pytest.mark.parametrize("row", ORIFICES, ids=lambda row: f"no. {row[0]}")
def test_the_drill_of_the_orifice_table(gas: Gas, kpa: float, row: tuple[int, float, float]) -> None:
    number, natural, propane = row
    cubic_feet = natural if gas is METHANE else propane
    power = cubic_feet * CUBIC_FOOT_M3 / 3600.0 * gas.density * gas.heating_value
    rows = orifice.for_power(gas, power, kpa, 1, 0.0)
    assert value(rows, "diameter") == pytest.approx(drill_mm(number), rel=1e-3)
    assert value(rows, "gas") == pytest.approx(cubic_feet * CUBIC_FOOT_M3)
    around = [float(one.what.split()[-1]) for one in rows if one.what.startswith("drill")]
    assert number in around


def test_a_burner_is_set_for_less_in_the_mountains() -> None:
    """UMC 2009, appendix B (NFPA 54-2002): 4 % less per 300 m above sea level, none below 600 m."""
    assert value(orifice.for_power(PROPANE, 9000.0, 2.74, 1, 500.0), "set for") == pytest.approx(9.0)
    assert value(orifice.for_power(PROPANE, 9000.0, 2.74, 1, 1500.0), "set for") == pytest.approx(7.2)


def test_heating_time() -> None:
    """30 L from 20 to 67 degC at 5.5 kW: 17.83 min, with a loss of 5 W/K 18.22 (with IF97 properties)."""
    assert Charge(water=30.0).seconds(5500.0, 20.0, 67.0) / 60.0 == pytest.approx(17.83, rel=0.002)
    assert Charge(water=30.0, loss=5.0).seconds(5500.0, 20.0, 67.0) / 60.0 == pytest.approx(18.22, rel=0.002)
    rows = heat.of_source(Charge(water=30.0, loss=5.0), 5500.0, 20.0, 67.0, 1.0)
    assert value(rows, "time") == pytest.approx(18.22, rel=0.002)


def test_cooling_shows_the_same_time_constant() -> None:
    """25 kg, c 4190, UA 5 W/K: tau 5.819 h (Newton cooling, computed elsewhere)."""
    charge = Charge(water=0.0, metal=25.0 * 4190.0, loss=5.0)
    assert charge.capacity / charge.loss / 3600.0 == pytest.approx(5.819, abs=1e-3)


def test_the_coil_of_the_worked_example() -> None:
    """15 m of copper, 10.9 and 12.7 mm, 0.1 kg/s: a length found for its exchange is its length."""
    helix = Helix(15.0, 10.9, 12.7, 250.0, 390.0)
    ua = coil_ua(helix, 0.1)
    flow = 0.1 / coil.MASH_DENSITY * 1000.0 * 60.0
    carried = 0.1 * 4186.0
    share = 1.0 - 2.718281828459045 ** (-ua / carried)
    capacity, offset = 140e3, 7.0
    rows = coil.for_ramp(capacity, share * carried * offset / capacity, offset, flow, helix)
    assert value(rows, "length") == pytest.approx(15.0, rel=1e-3)
    assert value(rows, "exchange") == pytest.approx(ua, rel=1e-6)


def test_the_life_of_a_relay() -> None:
    """100 000 operations at a cycle of 20 s are 23 days, at 60 s 69 days (arithmetic)."""
    for length, days in ((20.0, 23.15), (60.0, 69.44)):
        rows = cycle.of(length, 0.01, 0.5, cycle.LIFE, 168.0)
        assert value(rows, "life in use") / 24.0 == pytest.approx(days, abs=0.01)
