"""Plug flow: what enters comes out one volume later."""

from math import exp

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plants.media.water import SPECIFIC_HEAT
from plants.parts.pump import FLOW_DENSITY
from tests.plants.small_plants import Loop, signal


@settings(max_examples=25)
@given(st.floats(0.05, 5.0), st.floats(1.0, 20.0))
def test_a_front_arrives_after_volume_over_flow(volume, flow):
    loop = Loop({"volume": volume, "flow": flow, "pump_start_delay": 0.0})
    loop.command([1])
    arrival_ms = volume / flow * 60_000
    loop.advance(max(1, int(arrival_ms) - 2))
    assert signal(loop, "outlet") == pytest.approx(20.0, abs=1e-6)
    loop.advance(int(arrival_ms) + 2)
    assert signal(loop, "outlet") == pytest.approx(60.0, abs=1e-6)


@settings(max_examples=25)
@given(
    st.lists(st.tuples(st.integers(1, 8000), st.booleans(), st.floats(10.0, 100.0)), min_size=1, max_size=8)
)
def test_a_front_arrives_once_its_volume_has_flowed(steps):
    """Under stops and restrictions the front still needs exactly the volume of the pipe."""
    loop = Loop({"volume": 0.7, "flow": 6.0, "pump_start_delay": 0.0})
    passed = 0.0
    for wait_ms, on, percent in steps:
        token = loop.begin_fault("flow-restricted", None, {"fraction": percent})
        loop.command([on])
        loop.advance(loop.time_ms + wait_ms)
        passed += on * percent * wait_ms * 1e-6
        loop.end_fault(token)
    if abs(passed - 0.7) > 0.001:
        assert signal(loop, "outlet") == pytest.approx(60.0 if passed > 0.7 else 20.0, abs=1e-6)


def test_water_that_stands_cools_with_its_age():
    """One stop of 40 s in a pipe of 0.2 L with 20 W/K, to a room of 20 degC."""
    loop = Loop({"volume": 0.2, "ua": 20.0, "flow": 6.0, "pump_start_delay": 0.0})
    loop.command([1])
    loop.advance(10_000)
    loop.command([0])
    loop.advance(50_000)
    rate = 20.0 / (0.2e-3 * FLOW_DENSITY * SPECIFIC_HEAT)
    assert signal(loop, "outlet") == pytest.approx(20.0 + 40.0 * exp(-rate * 42.0), abs=1e-6)
    loop.command([1])
    loop.advance(51_000)
    assert signal(loop, "outlet") == pytest.approx(20.0 + 40.0 * exp(-rate * 42.0), abs=1e-6)
    loop.advance(52_100)
    assert signal(loop, "outlet") == pytest.approx(20.0 + 40.0 * exp(-rate * 2.0), abs=1e-6)


def test_all_heat_that_enters_leaves_or_is_lost():
    """A front of 40 K through 1 L: the sink gains what the source gave less what the pipe holds."""
    loop = Loop({"volume": 1.0, "flow": 6.0, "pump_start_delay": 0.0})
    loop.command([1])
    loop.advance(17_345)
    held = loop._net.x(loop._net.delays[0].content.heat)
    assert held == pytest.approx(1e-3 * FLOW_DENSITY * SPECIFIC_HEAT * 60.0, rel=1e-6)
