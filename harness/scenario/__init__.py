"""The scenario file: its model, how it is read and checked, and the timeline of its disturbances."""

from harness.scenario.build import build_scenario
from harness.scenario.find import find_scenarios, find_sets
from harness.scenario.kinds import BENCH_KINDS, BenchKind
from harness.scenario.load import load_scenario, parse_scenario
from harness.scenario.model import Disturbance, PanelValue, Scenario, Wiring
from harness.scenario.require import check_set
from harness.scenario.timeline import NEVER_MS, Change, Timeline

__all__ = [
    "BENCH_KINDS",
    "NEVER_MS",
    "BenchKind",
    "Change",
    "Disturbance",
    "PanelValue",
    "Scenario",
    "Timeline",
    "Wiring",
    "build_scenario",
    "check_set",
    "find_scenarios",
    "find_sets",
    "load_scenario",
    "parse_scenario",
]
