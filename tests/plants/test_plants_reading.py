"""Probes: units, lag, noise, faults; reading changes nothing."""

import math
import statistics

import pytest

from plants.sensors.platinum import PT100
from tests.plants.small_plants import signal
from tests.plants.strategies import HERMS

QUIET = {"probe_noise": 0.0, "liquor_start": 66.0, "mash_start": 60.0}
ALL_UNITS = [("liquor", "mdegC"), ("liquor", "mdegF"), ("liquor", "mohm")]


def read(plant, probe, unit="mdegC"):
    """One reading."""
    return plant.reader([(probe, unit)])()[0]


def test_all_units_tell_the_same_temperature():
    plant = HERMS(QUIET)
    assert plant.reader(ALL_UNITS)() == [66000, 150800, round(PT100.ohm(66.0) * 1000)]


@pytest.mark.parametrize(
    ("resolution", "reading"), [(0.01, 66120), (0.0625, 66092), (0.5, 66000), (0.001, 66123)]
)
def test_resolution(resolution, reading):
    plant = HERMS({**QUIET, "liquor_start": 66.123, "probe_resolution": resolution})
    assert abs(read(plant, "liquor") - reading) <= (1 if resolution < 0.0625 else 62)
    assert read(plant, "liquor") % max(1, round(resolution * 1000)) == 0


def test_a_lead_that_is_not_compensated_reads_too_warm():
    plant = HERMS({**QUIET, "lead_resistance": 0.5})
    assert read(plant, "liquor") == pytest.approx(68600, abs=20)
    assert read(plant, "liquor", "mohm") == round(PT100.ohm(66.0) * 1000) + 1000


@pytest.mark.parametrize(("wires", "added"), [("2", 1000), ("3", 20), ("4", 0)])
def test_more_wires_leave_less_of_the_lead(wires, added):
    setup = {**QUIET, "lead_resistance": 0.5, "lead_mismatch": 0.02, "lead_wires": wires}
    assert read(HERMS(setup), "liquor", "mohm") == round(PT100.ohm(66.0) * 1000) + added


def test_below_freezing():
    plant = HERMS({**QUIET, "ambient": -20.0, "liquor_start": 0.0})
    plant.begin_fault("probe-out-of-well", "liquor", {})
    plant.advance(600_000)
    assert -20_000 <= read(plant, "liquor") < -19_900
    assert read(plant, "liquor", "mohm") == pytest.approx(92_160, abs=60)


def test_the_sensor_lags_by_its_time_constant():
    """Out of its well it follows the room 4.5 times as slowly."""
    plant = HERMS({**QUIET, "ambient": 20.0, "liquor_lag": 10.0})
    plant.begin_fault("probe-out-of-well", "liquor", {})
    plant.advance(45_000)
    assert read(plant, "liquor") / 1000 == pytest.approx(20.0 + 46.0 * math.exp(-1.0), abs=0.01)


def test_reading_never_changes_the_plant():
    """The same run with and without readings, and readings taken twice, are equal."""
    wanted = [(probe.name, unit) for probe in HERMS.probes for unit in probe.units]
    looked, left = HERMS(seed=5), HERMS(seed=5)
    reader = looked.reader(wanted)
    for plant in (looked, left):
        plant.command([1, 1, 1])
    for time_ms in range(0, 60_000, 250):
        assert reader() == reader() == left.reader(wanted)() if time_ms % 10_000 == 0 else reader()
        looked.advance(time_ms)
        left.advance(time_ms)
    assert looked.sample() == left.sample()


def test_noise_has_its_size_and_belongs_to_seed_probe_and_time():
    plant, other = (
        HERMS({"probe_noise": 0.2, "probe_resolution": 0.001}, seed=1),
        HERMS({"probe_noise": 0.2}, seed=2),
    )
    one, two, again = (
        each.reader([("liquor", "mdegC"), ("limit", "mdegC")]) for each in (plant, other, plant)
    )
    rows, others = [], []
    for time_ms in range(0, 1_000_000, 250):
        plant.time_ms = other.time_ms = time_ms
        assert one() == again()
        rows.append(one())
        others.append(two()[0])
    liquor, limit = zip(*rows, strict=True)
    assert statistics.mean(liquor) == pytest.approx(20_000, abs=12)
    assert statistics.stdev(liquor) == pytest.approx(200.0, rel=0.05)
    for first, second in ((liquor, limit), (liquor, others), (liquor[1:], liquor[:-1])):
        assert abs(statistics.correlation(first, second)) < 0.05


@pytest.mark.parametrize(
    ("kind", "sizes", "readings"),
    [
        ("probe-open", {}, [None, None, None]),
        ("probe-short", {}, [-242_020, -403_636, 0]),
        ("probe-offset", {"offset": -6.0}, [60_000, 140_000, round(PT100.ohm(60.0) * 1000)]),
        ("probe-frozen", {}, [66_000, 150_800, round(PT100.ohm(66.0) * 1000)]),
    ],
)
def test_probe_faults(kind, sizes, readings):
    plant = HERMS(QUIET)
    reader, healthy = plant.reader(ALL_UNITS), plant.reader([("limit", "mdegC")])
    token = plant.begin_fault(kind, "liquor", sizes)
    assert reader() == readings
    assert healthy() == [66_000]
    plant.end_fault(token)
    assert reader() == [66_000, 150_800, round(PT100.ohm(66.0) * 1000)]


def test_a_frozen_probe_stays_where_it_was():
    plant = HERMS({**QUIET, "liquor_start": 30.0})
    plant.command([1, 1, 0])
    plant.advance(60_000)
    before = read(plant, "liquor")
    token = plant.begin_fault("probe-frozen", "liquor", {})
    plant.advance(300_000)
    assert read(plant, "liquor") == before
    plant.end_fault(token)
    assert read(plant, "liquor") > before + 1000


def test_drift_grows_with_time():
    plant = HERMS({**QUIET, "liquor_loss": 0.0, "liquor_open": 0.0})
    plant.advance(1000)
    plant.begin_fault("probe-drift", "liquor", {"rate": -60.0})
    plant.advance(61_000)
    assert read(plant, "liquor") == pytest.approx(signal(plant, "liquor") * 1000 - 1000, abs=30)


def test_two_faults_on_one_probe_end_one_by_one():
    plant = HERMS(QUIET)
    first = plant.begin_fault("probe-open", "liquor", {})
    second = plant.begin_fault("probe-open", "liquor", {})
    plant.end_fault(first)
    assert read(plant, "liquor") is None
    plant.end_fault(second)
    plant.end_fault(second)
    assert read(plant, "liquor") == 66_000


def test_yes_or_no_probes():
    plant = HERMS()
    reader = plant.reader([("flame", "bool"), ("flow", "bool")])
    assert reader() == [0, 0]
    plant.command([1, 1, 1])
    plant.advance(5000)
    assert reader() == [1, 1]


@pytest.mark.parametrize(
    ("wanted", "message"),
    [
        (("liqour", "mdegC"), 'herms-gas: there is no probe "liqour". Did you mean "liquor"?'),
        (("flame", "mdegC"), 'herms-gas: flame cannot be read in "mdegC". Use bool.'),
        (
            ("limit", "uV"),
            'herms-gas: limit cannot be read in "uV". Use mdegC or mdegF or mohm or adc8 to adc24.',
        ),
    ],
)
def test_wrong_wishes_are_told(wanted, message):
    with pytest.raises(ValueError, match="^" + message.replace("?", r"\?").replace(".", r"\.") + "$"):
        HERMS().reader([wanted])
