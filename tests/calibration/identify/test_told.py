"""What a record tells, and what it owns up to not telling."""

from __future__ import annotations

import math

import numpy as np
import pytest

from harness.calibration.identify.driven import driven_response
from harness.calibration.identify.least_squares import UntellableError, fit
from harness.calibration.identify.told import told, words
from harness.calibration.process import FirstOrder
from harness.calibration.record import HeatRecord
from harness.calibration.step_test.procedure import Procedure
from tests.calibration.recovery import exact_record


def record_of(process: FirstOrder, hours: float, noise: float = 0.05) -> HeatRecord:
    """A record of the procedure, cut after some hours; noise beyond that of the recovery cases is added."""
    rng = np.random.default_rng(4)
    whole = exact_record(process, Procedure(limit=1e9), rng).until(hours * 3600.0)
    noisy = whole.temperature + noise * rng.standard_normal(len(whole.temperature))
    return HeatRecord(whole.time_s, whole.heat, noisy)


def test_a_process_without_losses_in_sight_is_told_as_integrating() -> None:
    process = FirstOrder(gain=40_000.0, dead_time_s=60.0, time_constant_s=4e6)
    found = told(record_of(process, 1.0))
    assert found.first_order is None
    slope, dead = (found.integrating.intervals[name] for name in ("slope", "dead_time_s"))
    assert process.slope in slope
    assert 60.0 in dead
    assert found.gain_at_least < process.gain
    assert "integrating" in words(found, 0.05)[0]


def test_an_incomplete_response_says_how_wide_its_figures_are() -> None:
    process = FirstOrder(gain=200.0, dead_time_s=60.0, time_constant_s=14_000.0)
    found = told(record_of(process, 0.45))
    (line,) = words(found, 0.05)
    assert "not told within 5 %" in line or "integrating" in line
    if found.first_order is not None:
        assert process.gain in found.first_order.intervals["gain"]


def test_a_longer_record_tells_more() -> None:
    process = FirstOrder(gain=120.0, dead_time_s=40.0, time_constant_s=9000.0)
    widths = []
    for hours in (0.6, 1.0, 2.0, 4.0):
        found = told(record_of(process, hours)).first_order
        interval = found.intervals["gain"] if found else None
        widths.append(interval.high - interval.low if interval else math.inf)
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.02 * process.gain


def test_a_probe_that_hears_nothing_of_the_heat_is_no_process() -> None:
    rng = np.random.default_rng(1)
    time_s = np.arange(0.0, 3000.0)
    heat = ((time_s > 300.0) & (time_s < 660.0)).astype(float)
    with pytest.raises(UntellableError, match="does not follow the heat"):
        told(HeatRecord(time_s, heat, 20.0 + 0.1 * rng.standard_normal(3000)))
    with pytest.raises(UntellableError, match="does not follow the heat"):
        told(HeatRecord(time_s, heat, np.full(3000, 20.0)))


def test_heat_that_never_changes_and_missing_readings_are_refused() -> None:
    time_s = np.arange(0.0, 100.0)
    with pytest.raises(UntellableError, match="heat never changes"):
        fit(HeatRecord(time_s, np.ones(100), time_s))
    heat = (time_s > 50.0).astype(float)
    with pytest.raises(UntellableError, match="0 rows hold a reading"):
        fit(HeatRecord(time_s, heat, np.full(100, np.nan)))


def test_rows_without_a_reading_are_left_out() -> None:
    whole = record_of(FirstOrder(80.0, 30.0, 2000.0), 1.5)
    holes = whole.temperature.copy()
    holes[1000:1400] = np.nan
    process = told(HeatRecord(whole.time_s, whole.heat, holes)).first_order
    assert process is not None
    assert 80.0 in process.intervals["gain"]


def test_cooling_has_a_negative_gain() -> None:
    whole = record_of(FirstOrder(80.0, 30.0, 2000.0), 2.0)
    found = told(HeatRecord(whole.time_s, whole.heat, 40.0 - whole.temperature)).first_order
    assert found is not None
    assert -80.0 in found.intervals["gain"]


def test_an_exact_record_gives_back_its_process_to_six_digits() -> None:
    procedure = Procedure()
    time_s = np.arange(0.0, 7200.0)
    heat = np.array([float(procedure.wants_heat(int(1000 * at))) for at in time_s])
    changes = np.concatenate([[0], np.flatnonzero(np.diff(heat)) + 1])
    rise = driven_response(time_s, time_s[changes], heat[changes], 0.02, 1 / 5000.0, 40.5)
    found = fit(HeatRecord(time_s, heat, 15.0 + rise))
    assert (found.slope, 1.0 / found.loss, found.start) == pytest.approx((0.02, 5000.0, 15.0), rel=1e-4)
    assert found.dead_s == pytest.approx(40.5, abs=0.05)


@pytest.mark.parametrize("hours", [0.45, 1.0])
def test_a_cooled_process_has_a_least_gain_below_zero_and_is_told_to_fall(hours: float) -> None:
    process = FirstOrder(gain=-200.0, dead_time_s=60.0, time_constant_s=14_000.0)
    found = told(record_of(process, hours))
    assert process.gain < found.gain_at_least < 0.0
    assert words(found, 0.05)[0].startswith("the reading falls with the heat")


def test_no_time_is_below_zero_in_an_interval() -> None:
    """A reading that climbs before the heat comes: the fits to shorter parts are far off."""
    time_s = np.arange(0.0, 1000.0, 10.0)
    found = told(HeatRecord(time_s, (time_s > 100.0).astype(float), 20.0 + 0.01 * time_s)).first_order
    assert found is not None
    assert found.intervals["time_constant_s"].low >= 0.0


def test_what_is_not_told_is_shown_to_be_wider_than_was_asked() -> None:
    found = told(record_of(FirstOrder(gain=120.0, dead_time_s=40.0, time_constant_s=9000.0), 1.0))
    assert found.first_order is not None
    value, interval = found.first_order.figures()["gain"]
    assert interval is not None
    half = 0.5 * (interval.high - interval.low) / value
    (line,) = words(found, half - 1e-5)
    shown = float(line.split("gain within ")[1].split(" %")[0])
    assert shown > 100.0 * (half - 1e-5)
