"""The table of faults and phases in scenarios/README.md is what the ready scenarios are.

A scenario says in `themes` in which phase its faults come. A cell of the table has an `x` where a scenario
rehearses a fault of the row in the phase of the column, a `-` where that makes no sense, and else nothing.
"""

import re

import pytest

from harness.scenario import BENCH_KINDS, find_scenarios, load_scenario
from harness.shipped import shipped
from plants import ready_plants

PHASES = {
    "ignition": "ignition",
    "ramp": "ramp",
    "hold": "hold",
    "step": "step change",
    "near boiling": "boil",
    "idle, off": "idle",
    "calibration": "calibration",
    "in lockout": "lockout",
}
"""Column of the table, and the word in `themes`."""

WRONG = [
    "probe-offset", "probe-drift", "probe-noise", "probe-spikes", "probe-power-on", "probe-wrong-curve",
    "probe-frozen",
]  # fmt: skip
DEAD = ["probe-open", "probe-short"]

KINDS = {
    "flame lost, late, none": {"flame-lost", "slow-to-light", "does-not-light"},
    "weak flame, low gas pressure, pilot out": {"weak-flame", "low-gas-pressure", "pilot-out"},
    "valve stuck open or closed": {"valve-stuck-open", "valve-stuck-closed"},
    "valve leaks, is slow to close": {"valve-leaks", "valve-slow-to-close"},
    "pump stops, flow too small, air lock": {"pump-stops", "flow-restricted", "air-lock"},
    "probe open, shorted": {*DEAD},
    "probe reads wrong, frozen, jumping": {*WRONG},
    "probe out of its well, probes swapped": {"probe-out-of-well", "probes-swapped"},
    "high limit: its own probe fails": {f"limit {kind}" for kind in DEAD},
    "water or grain added or moved, vessel runs low": {
        "cold-water-added", "grain-added", "vessel-runs-low", "water-moved",
    },
    "lid off, draught, room colder, door open": {"lid-off", "draught", "ambient-change", "door-open"},
    "line silent, noisy": {kind for kind in BENCH_KINDS if kind.startswith(("line-", "late-"))},
    "power cut": {"power-cut"},
    "relay welded, stuck; element open, worn, low voltage": {
        "relay-welded-on", "relay-stuck-off", "relay-half-wave", "element-open", "element-worn",
        "low-supply-voltage",
    },
    "compressor locked, refrigerant lost": {"compressor-locked", "refrigerant-lost"},
}  # fmt: skip
"""Rows that go by kinds of disturbances; `limit ` before those of the limit's own probe."""

THEMES = {
    "high limit reached": {"high-limit"},
    "clock rolls over": {"clock"},
    "emergency stop, off": {"emergency-stop", "stop"},
    "panel: mode, set point, duty by hand, jammed button": {"panel", "manual"},
}
"""Rows that go by other words in `themes`."""

TEXT = (shipped("scenarios") / "README.md").read_text()
HEAD, _, *LINES = re.findall(r"^\| .* \|$", TEXT.split("## What the ready scenarios rehearse")[1], re.M)
READY = [load_scenario(path) for path in find_scenarios([shipped("scenarios")])]


def cells(line):
    """The cells of a line of the table."""
    return [cell.strip() for cell in line.strip("|").split("|")]


def kinds(scenario):
    """What happens in a scenario, the limit's own probe told apart."""
    for one in scenario.disturbances:
        own = one.place == "limit" and one.kind in DEAD
        yield f"limit {one.kind}" if own else one.kind


def rehearsed(row, phase):
    """Scenarios of a row in a phase."""
    there = [scenario for scenario in READY if phase in scenario.themes]
    if row in THEMES:
        return [scenario.file for scenario in there if THEMES[row] & {*scenario.themes}]
    return [scenario.file for scenario in there if KINDS[row] & {*kinds(scenario)}]


def test_the_columns_are_the_phases():
    assert cells(HEAD) == ["fault", *PHASES]


def test_the_rows_are_all_faults_there_are():
    assert [cells(line)[0] for line in LINES] == [*KINDS, *THEMES]
    every = {fault.kind for plant in ready_plants().values() for fault in plant.faults}
    told = {kind.removeprefix("limit ") for row in KINDS.values() for kind in row}
    assert told == every | set(BENCH_KINDS) - {"set-panel", "type"}


@pytest.mark.parametrize("line", LINES, ids=lambda line: cells(line)[0])
def test_a_row_is_true(line):
    row, *marks = cells(line)
    for mark, (column, phase) in zip(marks, PHASES.items(), strict=True):
        found = rehearsed(row, phase)
        assert mark in ("x", "-", ""), column
        assert mark == "-" or bool(found) == (mark == "x"), (column, found)


def test_every_kind_of_fault_has_a_scenario():
    played = {one.kind for scenario in READY for one in scenario.disturbances}
    every = {fault.kind for plant in ready_plants().values() for fault in plant.faults}
    assert (every | set(BENCH_KINDS)) - played == {"type"}, "a console is no fault"


def test_a_scenario_with_a_fault_names_its_phase():
    for scenario in READY:
        if any(one.kind not in ("set-panel", "type") for one in scenario.disturbances):
            assert {*PHASES.values()} & {*scenario.themes}, scenario.file

