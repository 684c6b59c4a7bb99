"""Faults that grow from nothing and fade, and the air lock."""

from hypothesis import given
from hypothesis import strategies as st

from plants import ready_plants
from tests.plants.small_plants import signal

HERMS = ready_plants()["herms-gas"]
QUIET = {"probe_noise": 0.0, "probe_resolution": 0.001}
PUMP = [0.0, 0.0, 1.0]


def offset(plant):
    """How far the liquor probe is off [K]."""
    (reading,) = plant.reader([("liquor", "mdegC")])()
    return reading / 1000.0 - 20.0


@given(size=st.floats(-50.0, 50.0), ramp_s=st.integers(1, 300), at=st.floats(0.0, 2.0))
def test_a_ramp_is_even(size, ramp_s, at):
    plant = HERMS(QUIET)
    plant.begin_fault("probe-offset", "liquor", {"offset": size}, ramp_s * 1000)
    plant.advance(round(at * ramp_s * 1000))
    share = min(at, 1.0)
    step = max(0.1, ramp_s / 60.0) / ramp_s
    assert abs(offset(plant) - share * size) <= abs(size) * min(1.0, step) + 0.02


def test_it_fades_from_what_it_has_reached():
    plant = HERMS(QUIET)
    token = plant.begin_fault("probe-offset", "liquor", {"offset": 40.0}, 60_000)
    plant.advance(30_000)
    plant.end_fault(token, 20_000)
    plant.advance(40_000)
    assert abs(offset(plant) - 10.0) < 0.5
    plant.advance(50_000)
    assert abs(offset(plant)) < 0.02
    plant.end_fault(token)


def test_an_end_in_the_middle_of_a_ramp_is_the_end():
    plant = HERMS(QUIET)
    token = plant.begin_fault("probe-offset", "liquor", {"offset": 40.0}, 60_000)
    plant.advance(30_000)
    plant.end_fault(token)
    plant.advance(90_000)
    assert abs(offset(plant)) < 0.02


def test_ramps_of_one_kind_add_up():
    plant = HERMS(QUIET)
    plant.begin_fault("probe-offset", "liquor", {"offset": 6.0}, 10_000)
    plant.begin_fault("probe-offset", "liquor", {"offset": -2.0})
    plant.advance(60_000)
    assert abs(offset(plant) - 4.0) < 0.02


def test_a_saved_ramp_goes_on():
    plant, other = HERMS(QUIET), HERMS(QUIET)
    plant.command(PUMP)
    plant.begin_fault("flow-restricted", None, {"fraction": 20.0}, 30_000)
    plant.advance(12_000)
    other.restore(plant.save())
    for one in (plant, other):
        one.advance(60_000)
    assert plant.sample() == other.sample()
    assert abs(signal(plant, "flow") - 6.0 * 0.2) < 1e-9


def test_a_slow_flow_switch_follows_a_ramp():
    """Each step of the ramp changes the flow; the lag counts from the step that passes the threshold."""
    plant = HERMS({"flow_switch_delay": 10.0})
    plant.command(PUMP)
    plant.advance(20_000)
    plant.begin_fault("flow-restricted", None, {"fraction": 0.0}, 60_000)
    plant.advance(20_000 + 39_000 + 10_000)
    assert signal(plant, "flow_seen") == 1.0
    plant.advance(20_000 + 41_000 + 10_000)
    assert signal(plant, "flow_seen") == 0.0


def test_a_ramp_of_the_heat_lets_the_flame_flicker():
    plant = HERMS()
    plant.command([1.0, 1.0, 0.0])
    plant.advance(10_000)
    told = []
    plant.on_change = lambda time_ms, text: told.append(text)
    plant.begin_fault("weak-flame", None, {"seen": 3.0, "unseen": 0.6}, 60_000)
    plant.advance(70_000)
    assert told.count("flame signal off") == 60 // 3.6 // 1


def test_air_stays_in_the_pump_until_it_has_stood():
    plant = HERMS()
    plant.begin_fault("air-lock", None, {"rises": 5.0})
    plant.command(PUMP)
    plant.advance(60_000)
    assert (signal(plant, "pump"), signal(plant, "flow")) == (1.0, 0.0)
    for stands_ms, flow in ((3_000, 0.0), (6_000, 6.0)):
        plant.command([0.0] * 3)
        plant.advance(plant.time_ms + stands_ms)
        plant.command(PUMP)
        plant.advance(plant.time_ms + 5_000)
        assert abs(signal(plant, "flow") - flow) < 1e-9


def test_the_next_air_lock_is_a_new_bubble():
    plant = HERMS()
    plant.command(PUMP)
    plant.advance(1_000)
    token = plant.begin_fault("air-lock", None, {"fraction": 50.0})
    plant.advance(2_000)
    assert abs(signal(plant, "flow") - 3.0) < 1e-9
    plant.end_fault(token)
    assert abs(signal(plant, "flow") - 6.0) < 1e-9
    plant.begin_fault("air-lock", None, {})
    assert signal(plant, "flow") == 0.0
