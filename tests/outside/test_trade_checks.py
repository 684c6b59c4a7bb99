"""What brewers say of controllers, tried with real firmware. All: common practice, no source."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.firmware import build_stand_in
from tests.whole.rehearsal import book, play, scenario_of

THERMOSTAT = Path(__file__).resolve().parents[1] / "whole" / "c" / "thermostat.c"
SETPOINT_DEGC = 72.0
STEP_MS, END_MS = 60 * 60_000, 240 * 60_000

#: A rest, then a step of 6 K, with a burner that lights 4 s late each time.
LATE = """
title = "A step with a burner that lights late"
plant = "herms-gas"
length = "240 min"

[plant_setup]
ambient = "12 degC"
liquor_start = "60 degC"
mash_start = "55 degC"

[panel]
mode = 1
mash_setpoint = "66 degC"
run = true

[[disturbance]]
kind = "slow-to-light"
at = "0 s"
extra = "4 s"

[[disturbance]]
kind = "set-panel"
at = "60 min"
panel = { mash_setpoint = "72 degC" }

[[assertion]]
title = "it burns"
sometime = "flame"
"""


@pytest.fixture(scope="module")
def held(reference, tmp_path_factory):
    """By controller: times [ms] and what the coil outlet is off [K], once it has come within 0.5 K."""
    folder = tmp_path_factory.mktemp("trade")
    links = {"pid": reference().links["lib"]}
    links["on/off"] = f"lib:{build_stand_in(THERMOSTAT, folder / 'thermostat.so')}"
    found = {}
    for name, link in links.items():
        times, columns = (
            book(folder).read(play(scenario_of(LATE), link, folder).run_id).signals(["coil_outlet"])
        )
        off = columns["coil_outlet"] - SETPOINT_DEGC
        arrived = np.argmax((times > STEP_MS) & (abs(off) < 0.5))
        assert arrived
        found[name] = times[arrived:], off[arrived:]
    return found


def test_pid_passes_the_set_point_a_little_then_falls_a_little_short(held):
    _, off = held["pid"]
    top = off.argmax()
    assert 0.02 < off[top] < 0.5
    assert -0.5 < off[top:].min() < 0.0


def test_pid_holds_closer_than_on_off(held):
    swings = {name: np.ptp(off[times > END_MS / 2]) for name, (times, off) in held.items()}
    errors = {name: np.abs(off[times > END_MS / 2]).mean() for name, (times, off) in held.items()}
    assert 3 * swings["pid"] < swings["on/off"]
    assert 5 * errors["pid"] < errors["on/off"]


def test_on_off_swings_by_more_than_its_band(held):
    """Heat goes on arriving once the gas is shut, and the burner lights late: both add to the 0.1 K."""
    times, off = held["on/off"]
    late = off[times > END_MS / 2]
    assert late.max() > 0.1
    assert late.min() < -0.1
    assert np.ptp(late) > 0.3
