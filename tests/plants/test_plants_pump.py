"""Pump, flow and flow switch."""

import pytest

from tests.plants.small_plants import signals
from tests.plants.strategies import HERMS


def pumping():
    """A plant with its pump at full flow."""
    plant = HERMS()
    plant.command([0, 0, 1])
    plant.advance(2000)
    return plant


def test_flow_and_switch_follow_the_command():
    plant = HERMS()
    plant.command([0, 0, 1])
    seen = {}
    for time_ms in (199, 200, 699, 700):
        plant.advance(time_ms)
        values = signals(plant)
        seen[time_ms] = (values["pump"], values["flow"], values["flow_seen"])
    assert seen == {199: (0.0, 0.0, 0.0), 200: (1.0, 6.0, 0.0), 699: (1.0, 6.0, 0.0), 700: (1.0, 6.0, 1.0)}


def test_the_pump_stops_and_starts_again():
    plant = pumping()
    token = plant.begin_fault("pump-stops", None, {})
    plant.advance(4000)
    values = signals(plant)
    assert (values["pump"], values["flow"], values["flow_seen"]) == (0.0, 0.0, 0.0)
    plant.end_fault(token)
    plant.advance(6000)
    assert signals(plant)["flow"] == 6.0


def test_restricted_flow_takes_the_tightest_restriction():
    plant = pumping()
    first = plant.begin_fault("flow-restricted", None, {"fraction": 50.0})
    second = plant.begin_fault("flow-restricted", None, {"fraction": 20.0})
    plant.advance(4000)
    assert (signals(plant)["flow"], signals(plant)["flow_seen"]) == (pytest.approx(1.2), 0.0)
    plant.end_fault(second)
    plant.advance(6000)
    assert (signals(plant)["flow"], signals(plant)["flow_seen"]) == (3.0, 1.0)
    plant.end_fault(first)
    assert signals(plant)["flow"] == 6.0


def test_less_flow_makes_the_coil_outlet_hotter():
    outlet = {}
    for percent in (100.0, 40.0):
        plant = HERMS({"liquor_start": 75.0, "mash_start": 65.0})
        plant.command([0, 0, 1])
        plant.begin_fault("flow-restricted", None, {"fraction": percent})
        plant.advance(120_000)
        outlet[percent] = signals(plant)["coil_outlet"]
    assert 66.0 < outlet[100.0] < outlet[40.0] < 75.0
