"""The binaries of both boards play the same run as the host build, which runs with sanitizers here."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from harness.scenario import load_scenario
from harness.shipped import shipped
from tests.emulated import KINDS, build_emulated, build_host
from tests.whole.rehearsal import BUSY, play, scenario_of

SETPOINT = 'mash_setpoint = "66 degC"'
FLAME_LOST = shipped("scenarios") / "burner" / "flame-lost.toml"

LOCKED_OUT = """
title = "The power fails while the burner is locked out"
plant = "herms-gas"
length = "40 s"

[plant_setup]
liquor_start = "50 degC"
mash_start = "45 degC"

[panel]
mode = 1
mash_setpoint = "66 degC"
run = true

[[disturbance]]
kind = "flame-lost"
at = "20 s"

[[disturbance]]
kind = "power-cut"
at = "26 s"
for = "3 s"

[[disturbance]]
kind = "power-cut"
at = "34 s"

[[assertion]]
title = "locked out before the first cut"
after = "at 25.5 s"
within = "0 s"
expect = "out.stage == 4"

[[assertion]]
title = "locked out after the first cut"
after = "at 29 s"
within = "500 ms"
expect = "out.stage == 4"
held = "4.5 s"

[[assertion]]
title = "locked out after the second cut"
after = "at 34 s"
within = "500 ms"
expect = "out.stage == 4"
held = "5 s"
"""


def build(folder: Path, panel: str) -> dict[str, str]:
    """Links to the boards, and to the host build with address and undefined-behaviour sanitizers."""
    return {"host": build_host(folder, panel, "SAN=1")} | build_emulated(folder, panel)


@pytest.fixture(scope="module")
def links(tmp_path_factory):
    return build(tmp_path_factory.mktemp("boards"), "degC")


@pytest.mark.parametrize("kind", KINDS)
def test_a_busy_run_is_the_host_s(kind, links, tmp_path):
    """480 exchanges with a lost flame, a reset, an open probe and a silent line."""
    on_host, on_board = (play(scenario_of(BUSY), links[name], tmp_path) for name in ("host", kind))
    assert on_board.digest == on_host.digest
    assert on_board.verdicts == on_host.verdicts
    assert (on_board.status, on_board.repeats) == ("pass", 0)
    assert on_board.events == on_host.events


@pytest.mark.parametrize("kind", KINDS)
def test_the_start_of_a_ready_scenario_is_the_host_s(kind, links, tmp_path):
    start = replace(load_scenario(FLAME_LOST), length_ms=75_000)
    on_host, on_board = (play(start, links[name], tmp_path) for name in ("host", kind))
    assert on_board.exchanges == 300
    assert on_board.digest == on_host.digest


def test_power_cuts_on_the_chip_with_eeprom_are_the_host_s(links, tmp_path):
    """A lockout that the firmware must find in its EEPROM, twice."""
    chip = links["avr"].replace("avr:", "atmega:", 1)
    on_host, on_chip = (play(scenario_of(LOCKED_OUT), link, tmp_path) for link in (links["host"], chip))
    assert (on_chip.status, on_chip.repeats) == ("pass", 0)
    assert on_chip.digest == on_host.digest
    assert on_chip.events == on_host.events


def test_a_panel_in_fahrenheit_is_the_host_s(tmp_path):
    built = build(tmp_path, "degF")
    scenario = replace(scenario_of(BUSY.replace(SETPOINT, 'mash_setpoint = "152 degF"', 1)), length_ms=60_000)
    assert len({play(scenario, link, tmp_path).digest for link in built.values()}) == 1
