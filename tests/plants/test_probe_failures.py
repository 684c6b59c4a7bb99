"""Failures of probes: noise, spikes, power-on value, wrong curve, swapped sensors, any of them together."""

import statistics

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plants import ready_plants
from plants.parts.probe_kinds import KINDS
from plants.sensors.platinum import PT100, other_curve

HERMS = ready_plants()["herms-gas"]
QUIET = {
    "probe_noise": 0.0, "probe_resolution": 0.001, "liquor_start": 66.0, "mash_start": 60.0, "ambient": 20.0,
}  # fmt: skip
PROBES = ("liquor", "coil_outlet", "pump_inlet", "limit")
PROBE_FAULTS = [fault for fault in HERMS.faults if fault.kind.startswith("probe")]


def read(plant, probe="liquor", unit="mdegC"):
    """One reading."""
    return plant.reader([(probe, unit)])()[0]


def readings(plant, step_ms=100, count=3000):
    """Many readings of a plant at rest."""
    reader, rows = plant.reader([("liquor", "mdegC")]), []
    for number in range(count):
        plant.time_ms = number * step_ms
        rows.append(reader()[0])
    return rows


def test_every_probe_failure_is_there():
    assert {fault.kind for fault in PROBE_FAULTS} == {
        "probe-open", "probe-short", "probe-frozen", "probe-drift", "probe-offset", "probe-noise",
        "probe-spikes", "probe-out-of-well", "probes-swapped", "probe-power-on", "probe-wrong-curve",
    }  # fmt: skip
    assert all(fault.about and fault.hazard and fault.places for fault in PROBE_FAULTS)


def test_a_noise_burst_has_its_size_and_ends():
    plant = HERMS(QUIET)
    token = plant.begin_fault("probe-noise", "liquor", {"sigma": 3.0})
    rows = readings(plant)
    assert rows == readings(plant)
    assert statistics.mean(rows) == pytest.approx(66_000, abs=300)
    assert statistics.stdev(rows) == pytest.approx(3000, rel=0.1)
    plant.end_fault(token)
    assert set(readings(plant, count=50)) == {66_000}


def test_spikes_come_as_often_and_as_high_as_stated():
    plant = HERMS(QUIET)
    plant.begin_fault("probe-spikes", "liquor", {"height": -40.0, "every": 2.0, "length": 0.1})
    rows = readings(plant)
    assert set(rows) == {66_000, 26_000}
    assert rows.count(26_000) == pytest.approx(len(rows) / 20, rel=0.3)


def test_drift_goes_on_between_events():
    plant = HERMS(QUIET)
    plant.begin_fault("probe-drift", "liquor", {"rate": 360.0})
    rows = readings(plant, step_ms=10_000, count=5)
    assert rows == [66_000, 67_000, 68_000, 69_000, 70_000]


def test_a_digital_probe_needs_a_conversion_after_its_supply_is_back():
    plant = HERMS({**QUIET, "liquor_kind": "digital"})
    plant.advance(10_000)
    token = plant.begin_fault("probe-power-on", "liquor", {})
    assert read(plant) == 85_000
    plant.advance(20_000)
    assert (read(plant), read(plant, "limit")) == (85_000, pytest.approx(65_990, abs=30))
    plant.end_fault(token)
    plant.advance(20_749)
    assert read(plant) == 85_000
    plant.advance(20_750)
    assert read(plant) == pytest.approx(66_000, abs=80)


def test_any_kind_may_show_a_power_on_value():
    plant = HERMS(QUIET)
    token = plant.begin_fault("probe-power-on", "liquor", {"reading": 0.0})
    assert (read(plant), read(plant, unit="mohm")) == (0, 100_000)
    plant.end_fault(token)
    assert read(plant) == 66_000


@pytest.mark.parametrize(
    ("kind", "error"),
    [
        ("pt100", 1000 * (other_curve(PT100).temperature(PT100.ohm(66.0)) - 66.0)),
        ("k", 658),
        ("ntc", 8_090),
        ("digital", 66_000 * 7),
    ],
)
def test_a_wrong_curve_spoils_temperatures_but_not_raw_readings(kind, error):
    plant = HERMS({**QUIET, "liquor_kind": kind})
    plant.advance(800)
    raw = {"k": "uV", "digital": "count"}.get(kind, "mohm")
    before = read(plant, unit=raw)
    plant.begin_fault("probe-wrong-curve", "liquor", {})
    assert read(plant) - 66_000 == pytest.approx(error, rel=0.12)
    assert read(plant, unit=raw) == before


def test_swapped_probes_read_each_other():
    plant = HERMS(QUIET)
    token = plant.begin_fault("probes-swapped", "liquor+pump_inlet", {})
    assert [read(plant, probe) for probe in PROBES] == [60_000, 66_000, 66_000, 66_000]
    plant.end_fault(token)
    assert [read(plant, probe) for probe in PROBES] == [66_000, 66_000, 60_000, 66_000]


def test_two_swaps_follow_each_other():
    plant = HERMS({**QUIET, "coil_outlet_class": "B"}, seed=4)
    odd = read(plant, "coil_outlet")
    plant.begin_fault("probes-swapped", "liquor+coil_outlet", {})
    plant.begin_fault("probes-swapped", "liquor+pump_inlet", {})
    assert [read(plant, probe) for probe in PROBES] == [60_000, 66_000, odd, 66_000]


@pytest.mark.parametrize(
    ("kind", "other", "reading"),
    [
        ("pt100", "k", -242_020),
        ("k", "pt100", 20_000),
        ("digital", "pt100", None),
        ("ntc", "digital", None),
    ],
)
def test_swapped_sensors_of_two_kinds(kind, other, reading):
    plant = HERMS({**QUIET, "liquor_kind": kind, "limit_kind": other})
    plant.advance(800)
    plant.begin_fault("probes-swapped", "liquor+limit", {})
    assert read(plant) == (None if reading is None else pytest.approx(reading, abs=5))


def test_a_sensor_of_another_resistance_is_read_as_it_is():
    plant = HERMS({**QUIET, "limit_kind": "pt1000"})
    plant.begin_fault("probes-swapped", "liquor+limit", {})
    assert read(plant, unit="mohm") == pytest.approx(10 * 1000 * PT100.ohm(66.0), abs=2)
    assert read(plant) > 1_000_000


def test_a_fault_of_one_probe_leaves_the_others_alone():
    for fault in PROBE_FAULTS:
        plant = HERMS(QUIET)
        place = next(place for place in fault.places if "limit" not in place)
        plant.begin_fault(fault.kind, place, {})
        assert read(plant, "limit") == 66_000


def begun(fault):
    """A place and sizes for a fault."""
    sizes = {size.name: st.floats(size.low, size.high) for size in fault.sizes}
    return st.tuples(st.just(fault.kind), st.sampled_from(fault.places), st.fixed_dictionaries(sizes))


@settings(max_examples=40)
@given(
    st.tuples(*[st.sampled_from(KINDS)] * 4),
    st.lists(st.sampled_from(PROBE_FAULTS).flatmap(begun), max_size=5),
    st.integers(0, 3000),
)
def test_any_faults_give_bounded_readings_and_leave_no_trace(kinds, faults, wait_ms):
    setup = {f"{probe}_kind": kind for probe, kind in zip(PROBES, kinds, strict=True)}
    plant, untouched = (HERMS({**QUIET, **setup}) for _ in range(2))
    wanted = [(one.name, unit) for one in plant.probes if one.name in PROBES for unit in one.units]
    tokens = [plant.begin_fault(*fault) for fault in faults]
    reader = plant.reader(wanted)
    plant.advance(wait_ms)
    for (_, unit), reading in zip(wanted, reader(), strict=True):
        assert reading is None or (isinstance(reading, int) and -(2**31) <= reading < 2**31)
        if unit.startswith("adc") and reading is not None:
            assert 0 <= reading < 2 ** int(unit[3:])
    for token in tokens:
        plant.end_fault(token)
    untouched.advance(wait_ms)
    plant.advance(600_000)
    untouched.advance(600_000)
    for one, two in zip(reader(), untouched.reader(wanted)(), strict=True):
        assert one == pytest.approx(two, rel=2e-3, abs=100)
