"""Coil, cooling, heating up and boiling against worked values and the package ht."""

import pytest
from ht import effectiveness_from_NTU

from plants.media.water import SPECIFIC_HEAT
from plants.parts.pump import FLOW_DENSITY
from tests.plants.small_plants import Block, Kettle, Loop, signal

# Exchanger with one side at one temperature: effectiveness 1 - exp(-NTU) (heat transfer textbooks; ht 1.2.0).
EFFECTIVENESS = [
    (0.25, 0.22120),
    (0.5, 0.39347),
    (1.0, 0.63212),
    (1.5, 0.77687),
    (2.0, 0.86466),
    (3.0, 0.95021),
]


def loop_effectiveness(ntu, flow=6.0):
    """Effectiveness that a pipe in a bath reaches once everything is steady."""
    ua = ntu * flow / 60.0 * 0.001 * FLOW_DENSITY * SPECIFIC_HEAT
    loop = Loop({"ua": ua, "flow": flow, "inlet": 60.0, "around": 80.0, "volume": 1.4})
    loop.command([1])
    loop.advance(60_000)
    return (signal(loop, "outlet") - 60.0) / 20.0


@pytest.mark.parametrize(("ntu", "effectiveness"), EFFECTIVENESS)
def test_coil_effectiveness(ntu, effectiveness):
    assert loop_effectiveness(ntu) == pytest.approx(effectiveness, abs=1e-5)
    assert loop_effectiveness(ntu) == pytest.approx(
        effectiveness_from_NTU(ntu, Cr=0.0, subtype="boiler"), abs=1e-6
    )


def test_condenser_of_a_textbook():
    """Incropera et al., chapter 11 condenser: NTU 0.75877, effectiveness 0.53176."""
    assert loop_effectiveness(0.75877) == pytest.approx(0.53176, abs=1e-5)


def test_heated_water_of_a_textbook():
    """Cengel and Ghajar, problem 11-134: water 20 to 60 against 130 degC, NTU 0.45199, gives 0.36364."""
    assert loop_effectiveness(0.45199) == pytest.approx(0.36364, abs=1e-5)


def test_kettle_coil_worked_by_hand():
    """UA 395.7 W/K at 0.1 kg/s, 65 degC in, 72 degC around: 69.28 degC out (correlations of ht, worked)."""
    loop = Loop(
        {"ua": 395.7, "flow": 0.1 / FLOW_DENSITY * 60000.0, "inlet": 65.0, "around": 72.0, "volume": 1.4}
    )
    loop.command([1])
    loop.advance(60_000)
    assert signal(loop, "outlet") == pytest.approx(69.28, abs=0.01)


def test_newton_cooling():
    """T = Ta + (T0 - Ta) exp(-t UA / m c), 25 kg, 4190 J/kg K, 5 W/K: 87.37 after 1 h, 70 after 2.735 h."""
    block = Block()
    block.advance(3_600_000)
    assert signal(block, "block") == pytest.approx(87.37, abs=0.005)
    block.advance(round(2.735 * 3_600_000))
    assert signal(block, "block") == pytest.approx(70.0, abs=0.01)


@pytest.mark.parametrize(("loss", "minutes"), [(0.0, 17.83), (5.0, 18.22)])
def test_time_to_heat_up(loss, minutes):
    """30 L from 20 to 67 degC with 5.5 kW, with and without 5 W/K to 20 degC (enthalpies of IF97, worked)."""
    kettle = Kettle({"loss": loss})
    kettle.command([1])
    while signal(kettle, "water") < 67.0:
        kettle.advance(kettle.time_ms + 250)
    assert kettle.time_ms / 60_000 == pytest.approx(minutes, rel=0.0025)


@pytest.mark.parametrize("volume", [10.0, 30.0, 60.0])
def test_boil_off(volume):
    """5.5 kW at the boil evaporates 8.775 kg/h without losses (IF97 latent heat at 100 degC)."""
    kettle = Kettle({"start": 99.9, "volume": volume})
    kettle.command([1])
    kettle.advance(600_000)
    before = signal(kettle, "evaporated")
    kettle.advance(600_000 + 1_800_000)
    assert (signal(kettle, "evaporated") - before) * 2.0 == pytest.approx(8.775, rel=0.001)


@pytest.mark.parametrize(("altitude", "boiling"), [(0.0, 99.974), (1600.0, 94.651), (3000.0, 89.977)])
def test_water_boils_at_its_altitude(altitude, boiling):
    """The band above the boiling point is what the heat supply adds in about two seconds."""
    kettle = Kettle({"start": 85.0, "altitude": altitude})
    kettle.command([1])
    kettle.advance(1_800_000)
    band = 2.0 * 5500.0 / (30.0 * 0.9 * SPECIFIC_HEAT) + 0.03
    assert boiling < signal(kettle, "water") < boiling + band


# Still air of 20 degC and 50 %, ASHRAE handbook (after Carrier): kg/h from one square metre of water.
@pytest.mark.parametrize(
    ("temp", "rate"), [(27, 0.315), (40, 0.828), (60, 2.55), (67, 3.59), (80, 6.42), (90, 9.69)]
)
def test_evaporation_from_a_surface(temp, rate):
    from plants.kernel.builder import Builder
    from plants.parts.vessel import Vessel

    vessel = Vessel(
        Builder(),
        "pond",
        volume_l=100.0,
        start=temp,
        wall=0.0,
        open_m2=1.0,
        boiling=100.0,
        moisture_kpa=1.1696,
    )
    mass = 100.0
    _, vapour, _ = vessel.rates(mass * SPECIFIC_HEAT * temp, mass)
    assert vapour * 3600.0 == pytest.approx(rate, rel=0.006)
