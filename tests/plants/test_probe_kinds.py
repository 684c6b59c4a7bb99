"""Probes of every kind in a plant: what is read in each unit, tolerance, conversion, lag by flow, stem."""

import math

import pytest

from plants import ready_plants
from plants.parts.probe_kinds import KINDS
from plants.sensors import digital
from plants.sensors.ntc import Beta
from plants.sensors.platinum import PT100, PT1000
from plants.sensors.response import SHEATHS
from plants.sensors.thermocouple import J, K, T
from plants.sensors.tolerance import PLATINUM

HERMS = ready_plants()["herms-gas"]
QUIET = {
    "probe_noise": 0.0, "probe_resolution": 0.001, "liquor_start": 66.0, "mash_start": 60.0, "ambient": 20.0,
}  # fmt: skip


def plant_of(kind, **more):
    """A plant whose liquor probe is of a kind, past the first conversion."""
    plant = HERMS({**QUIET, "liquor_kind": kind, **more})
    plant.advance(800)
    return plant


def read(plant, unit="mdegC", probe="liquor"):
    """One reading."""
    return plant.reader([(probe, unit)])()[0]


def units(plant, probe="liquor"):
    """The units a probe can be read in."""
    return next(one.units for one in plant.probes if one.name == probe)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_an_ideal_transmitter(kind):
    plant = plant_of(kind)
    band = 32 if kind == "digital" else 2
    assert read(plant) == pytest.approx(66_000, abs=band)
    assert read(plant, "mdegF") == pytest.approx(150_800, abs=band * 1.8)


@pytest.mark.parametrize(
    ("kind", "unit", "number"),
    [
        ("pt100", "mohm", PT100.ohm(66.0) * 1000),
        ("pt1000", "mohm", PT1000.ohm(66.0) * 1000),
        ("ntc", "mohm", Beta(10e3, 3950.0).ohm(66.0) * 1000),
        ("k", "uV", K.emf(66.0) - K.emf(20.0)),
        ("j", "uV", J.emf(66.0) - J.emf(20.0)),
        ("t", "uV", T.emf(66.0) - T.emf(20.0)),
        ("pt1000", "adc12", 4096 * PT1000.ohm(66.0) / (PT1000.ohm(66.0) + 10e3)),
        ("ntc", "adc10", 1024 * Beta(10e3, 3950.0).ohm(66.0) / (Beta(10e3, 3950.0).ohm(66.0) + 10e3)),
        ("k", "adc16", 65536 * (K.emf(66.0) - K.emf(20.0)) * 50.0 / 3.3e6),
        ("digital", "count", 66 * 16),
    ],
)
def test_raw_readings_leave_the_conversion_to_the_firmware(kind, unit, number):
    assert abs(read(plant_of(kind), unit) - number) <= (1 if unit.startswith("adc") else 0.001 * number)


@pytest.mark.parametrize(
    ("kind", "there", "absent"),
    [("pt100", "mohm", "uV"), ("ntc", "adc24", "uV"), ("k", "uV", "mohm"), ("digital", "count", "adc10")],
)
def test_the_units_follow_the_kind(kind, there, absent):
    offered = units(HERMS({"liquor_kind": kind}))
    assert there in offered
    assert absent not in offered
    assert "mohm" in units(HERMS({"liquor_kind": kind}), "limit")


def test_a_sensor_on_the_high_side_counts_the_other_way():
    low, high = (read(plant_of("ntc", divider_side=side), "adc12") for side in ("sensor-low", "sensor-high"))
    assert low + high == 4095


@pytest.mark.parametrize(
    ("kind", "unit", "opened", "shorted"),
    [
        ("pt100", "mohm", None, 0),
        ("ntc", "adc10", 1023, 0),
        ("k", "uV", None, 0),
        ("k", "adc10", 1023, 0),
        ("k", "mdegC", None, 20_000),
        ("ntc", "mdegC", None, 300_000),
        ("digital", "mdegC", None, 0),
        ("digital", "count", None, 0),
    ],
)
def test_open_and_short(kind, unit, opened, shorted):
    plant = plant_of(kind)
    before = read(plant, unit)
    for fault, reading in (("probe-open", opened), ("probe-short", shorted)):
        token = plant.begin_fault(fault, "liquor", {})
        assert read(plant, unit) == pytest.approx(reading)
        plant.end_fault(token)
        assert read(plant, unit) == before


def test_an_open_sensor_on_the_high_side_counts_nothing():
    plant = plant_of("ntc", divider_side="sensor-high")
    plant.begin_fault("probe-open", "liquor", {})
    assert read(plant, "adc10") == 0


def test_an_error_of_the_cold_junction_shows():
    assert read(plant_of("k", junction_error=5.0)) == pytest.approx(66_000 + 5_000, abs=250)
    assert read(plant_of("k", junction_error=5.0), "uV") == read(plant_of("k"), "uV")


def test_self_heating_warms_resistance_sensors_only():
    """1 mA through 125.5 ohm where 1 mW warms by a kelvin: 0.126 K; ten times that in a Pt1000."""
    own = {"measuring_current": 1.0, "dissipation": 0.001}
    assert read(plant_of("pt100", **own)) == pytest.approx(66_126, abs=2)
    assert read(plant_of("pt1000", **own)) == pytest.approx(67_255, abs=2)
    assert read(plant_of("pt100", **own), "mohm") == pytest.approx(1000.0 * PT100.ohm(66.1255), abs=1)
    assert read(plant_of("k", **own)) == pytest.approx(66_000, abs=2)


def test_a_tolerance_lies_in_its_band_and_belongs_to_the_seed():
    plants = [HERMS({**QUIET, "liquor_class": "B"}, seed=seed) for seed in range(20)]
    readings = [read(plant) for plant in plants]
    limit = PLATINUM["B"].limit(66.0) * 1000
    assert len(set(readings)) > 15
    assert all(abs(reading - 66_000) <= limit + 1 for reading in readings)
    assert max(abs(reading - 66_000) for reading in readings) > limit / 2
    assert read(HERMS({**QUIET, "liquor_class": "B"}, seed=3)) == readings[3]


@pytest.mark.parametrize(
    ("setup", "message"),
    [
        ({"liquor_kind": "pt10"}, 'herms-gas: there is no liquor_kind "pt10". Did you mean "pt100"?'),
        ({"liquor_kin": "k"}, 'herms-gas: there is no parameter "liquor_kin". Did you mean "liquor_kind"?'),
        ({"liquor_class": "1"}, "liquor_class: pt100 has no tolerance class 1. Use none or AA or A or B."),
        ({"liquor_lag": "long"}, 'herms-gas: liquor_lag = "long" is no figure. Give one in s.'),
    ],
)
def test_wrong_choices_are_told(setup, message):
    with pytest.raises(ValueError, match=r"there is no|no tolerance|no figure") as caught:
        HERMS(setup)
    assert str(caught.value) == message


# digital


@pytest.mark.parametrize("bits", [9, 10, 11, 12])
def test_85_degrees_stand_until_the_first_conversion_is_done(bits):
    plant = HERMS({**QUIET, "liquor_kind": "digital", "digital_bits": bits})
    time_ms = digital.CONVERSION_MS[bits]
    plant.advance(time_ms - 1)
    assert (read(plant), read(plant, "count")) == (85_000, 0x0550)
    plant.advance(time_ms)
    assert read(plant) == pytest.approx(66_000, abs=500 * 2 ** (8 - bits) + 2)


def test_a_digital_reading_stands_between_conversions():
    plant = HERMS({**QUIET, "liquor_start": 20.0, "liquor_kind": "digital", "burner_power": 30.0})
    plant.command([1, 1, 0])
    plant.advance(120_000)
    reader, last = plant.reader([("liquor", "count")]), {}
    for time_ms in range(120_000, 135_000, 50):
        plant.advance(time_ms)
        last.setdefault(time_ms // 750, set()).add(reader()[0])
    assert all(len(seen) == 1 for seen in last.values())
    assert len(set.union(*last.values())) > 3


def test_a_saved_digital_probe_goes_on_exactly():
    plant = plant_of("digital", liquor_start=30.0)
    plant.command([1, 1, 1])
    plant.advance(40_000)
    saved, reader = plant.save(), plant.reader([("liquor", "count"), ("limit", "mdegC")])
    plant.advance(90_000)
    there = reader(), plant.sample()
    plant.restore(saved)
    plant.advance(90_000)
    assert (reader(), plant.sample()) == there


# lag and stem


def follows(speed_l_min):
    """Share of a change that the pump-inlet probe has followed after one stated lag."""
    plant = HERMS({**QUIET, "flow": speed_l_min, "mash_start": 60.0, "pump_inlet_lag": 10.0})
    token = plant.begin_fault("probe-out-of-well", "pump_inlet", {})
    plant.advance(600_000)
    plant.command([0, 0, 1])
    plant.advance(600_500)
    plant.end_fault(token)
    before = read(plant, probe="pump_inlet")
    plant.advance(610_500)
    mash = plant.sample()[[one.name for one in plant.signals].index("mash")] * 1000
    return (read(plant, probe="pump_inlet") - before) / (mash - before)


@pytest.mark.parametrize(
    ("sheath", "lag_s"), [("stated", 10.0), *((name, one.lag_s) for name, one in SHEATHS.items())]
)
def test_a_sheath_has_its_lag(sheath, lag_s):
    plant = HERMS({**QUIET, "liquor_lag": 10.0, "liquor_sheath": sheath})
    plant.begin_fault("probe-out-of-well", "liquor", {})
    plant.advance(round(4.5 * lag_s * 1000))
    assert read(plant) == pytest.approx(20_000 + 46_000 * math.exp(-1.0), abs=40)


def test_a_faster_flow_shortens_the_lag():
    shares = [follows(flow) for flow in (0.5, 2.0, 6.0, 20.0)]
    assert shares == sorted(shares)
    at_table_speed = follows(0.2 * math.pi / 4 * 0.012**2 * 60_000)
    assert at_table_speed == pytest.approx(1 - math.exp(-1.0), abs=0.01)


def test_a_probe_that_hardly_dips_in_reads_towards_the_room():
    deep, shallow, out = (HERMS({**QUIET, "liquor_immersion": depth}) for depth in (100.0, 8.0, 0.0))
    for plant in (deep, shallow, out):
        plant.advance(300_000)
    true = deep.sample()[0] * 1000
    assert read(deep) == pytest.approx(true, abs=40)
    assert read(out) == pytest.approx(20_000, abs=10)
    assert read(out) < read(shallow) < true - 500
