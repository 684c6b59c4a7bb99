"""Settings on the full plant: what a trial measures, and what a person would expect of it."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.calibration.process import Integrating
from harness.calibration.record import HeatRecord
from harness.calibration.rig import RIGS
from harness.calibration.tuning.controller import OnOffPlan, PidPlan, TimeProportioned
from harness.calibration.tuning.rehearsal import Rehearsal, latest_light_s, tried
from harness.calibration.tuning.rules import RULES
from harness.calibration.tuning.settings import Settings
from plants import ready_plants

KETTLE = ready_plants()["electric-kettle"]
SMALL = {"kettle_volume": 10.0, "element_power": 5.5}


def rehearsal(**other: float) -> Rehearsal:
    return Rehearsal(lambda: KETTLE(SMALL), RIGS["electric-kettle"], 50.0, length_ms=5_400_000, **other)


@given(st.integers(1_000, 60_000), st.floats(0.0, 1.0))
def test_pulses_make_the_duty(cycle_ms: int, duty: float) -> None:
    """Over ten cycles the on-time is the duty's, but for pulses too short for a valve."""
    output, t_ms, on_ms = TimeProportioned(cycle_ms), 0, 0
    while t_ms < 10 * cycle_ms:
        wanted = output.wants(t_ms, duty)
        next_ms = min(output.next_ms(t_ms), 10 * cycle_ms)
        assert next_ms > t_ms
        on_ms += (next_ms - t_ms) * wanted
        t_ms = next_ms
    pulse_ms = on_ms / 10
    assert pulse_ms == pytest.approx(duty * cycle_ms, abs=2_000)
    assert pulse_ms in (0, cycle_ms) or abs(pulse_ms - duty * cycle_ms) <= 0.5


def test_twenty_percent_of_thirty_seconds_is_six() -> None:
    """Common practice, no source."""
    output = TimeProportioned(30_000)
    assert output.wants(0, 0.2)
    assert output.next_ms(0) == 6_000
    assert not output.wants(6_000, 0.2)
    assert output.next_ms(6_000) == 30_000


def test_one_that_is_passing_at_the_end_has_not_settled() -> None:
    """It swings by 2 K and crosses the set point as the record ends."""
    time_s = np.arange(0.0, 3_601.0)
    reading = 50.0 + 2.0 * np.sin(2.0 * np.pi * time_s / 1_200.0)
    swing = HeatRecord(time_s, np.zeros_like(time_s), reading, "kettle")
    assert abs(swing.temperature[-1] - 50.0) < 0.5
    assert tried(swing, 50.0, 0.5).settled_s == inf


def test_the_integral_does_not_wind_up() -> None:
    """An hour below the set point leaves nothing to unlearn: beyond it the heat is off at once."""
    plan = PidPlan(Settings(0.5, 600.0), 60.0, 1_000, 1_000)
    for second in range(3_600):
        assert plan.turn(second * 1_000, 20.0)
    assert not plan.turn(3_600_000, 62.5)


def test_a_thermostat_has_its_band() -> None:
    plan = OnOffPlan(60.0, 1.0, 1_000)
    readings = (58.0, 59.5, 60.0, 59.5, 59.1, 59.0)
    asked = [plan.turn(1_000 * second, reading) for second, reading in enumerate(readings)]
    assert asked == [True, True, False, False, False, True]


def test_the_figures_of_an_approach_by_hand() -> None:
    time_s = np.arange(0.0, 36_000.0, 60.0)
    error = np.where(time_s < 600.0, -10.0, 0.1)
    error[10:15], error[15:20] = 1.5, -0.8
    heat = np.zeros(len(time_s))
    heat[:10] = 1.0
    heat[100::2] = 0.5
    went = tried(HeatRecord(time_s, heat, 66.0 + error), 66.0, 0.5)
    assert (went.reached_s, went.settled_s) == (600.0, 1200.0)
    assert (went.overshoot, went.undershoot, went.hold_error) == pytest.approx((1.5, 0.8, 0.1))
    assert went.switchings == pytest.approx(250 / (35_340.0 / 3600.0))
    assert went.iae == pytest.approx((5 * 1.5 + 5 * 0.8 + 579 * 0.1) / (35_340.0 / 3600.0), rel=1e-6)


def test_a_set_point_that_is_never_reached_has_no_figures() -> None:
    time_s = np.arange(0.0, 3_600.0, 60.0)
    went = tried(HeatRecord(time_s, np.ones(len(time_s)), np.full(len(time_s), 40.0)), 66.0, 0.5)
    assert (went.reached_s, went.settled_s, went.hold_error) == (inf, inf, inf)


def test_found_settings_hold_closer_than_a_thermostat() -> None:
    """Common practice, no source: a PID by found settings holds better than on and off."""
    settings = RULES["simc-pi"].settings(Integrating(5500.0 / (10.0 * 4186.0), 35.0))
    pid, thermostat = rehearsal().pid(settings), rehearsal().on_off()
    assert pid.settled_s < inf
    assert pid.hold_error < 0.3 * thermostat.hold_error
    assert pid.overshoot < thermostat.overshoot
    assert pid.switchings > thermostat.switchings


def test_only_a_burner_lights_late() -> None:
    kinds = ready_plants()
    assert latest_light_s(kinds["herms-gas"]) > 5.0
    assert latest_light_s(kinds["electric-kettle"]) == 0.0
