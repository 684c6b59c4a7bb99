"""Runs from end to end: a scenario, a device on a real link, a logbook; or the whole command."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass, replace
from pathlib import Path

from harness.bench.result import RunResult
from harness.bench.run import run_scenario
from harness.logbook import Logbook
from harness.scenario import Scenario, find_scenarios, load_scenario
from harness.scenario.load import parse_scenario
from harness.shipped import shipped

ROOT = Path(__file__).resolve().parents[2]
MEDDLER = Path(__file__).resolve().parent / "devices" / "meddler.py"
COMMAND = "import sys; from harness.cli import main; sys.exit(main())"

#: Two minutes with a bit of everything: heat, a flame that is lost, a person who resets, a silent line.
BUSY = """
title = "A busy two minutes"
plant = "herms-gas"
length = "2 min"

[plant_setup]
ambient = "12 degC"
liquor_start = "50 degC"
mash_start = "45 degC"

[panel]
mode = 1
mash_setpoint = "66 degC"
run = true

[[disturbance]]
kind = "flame-lost"
at = "30 s"

[[disturbance]]
kind = "set-panel"
when = "out.stage == 4"
for = "2 s"
panel = { reset = true, run = false }

[[disturbance]]
kind = "set-panel"
at = "40 s"
panel = { mash_setpoint = "64.5 degC", run = true }

[[disturbance]]
kind = "probe-open"
place = "pump_inlet"
at = "70.13 s"
for = "1.2 s"

[[disturbance]]
kind = "line-silence"
at = "100 s"
for = "5 s"

[[assertion]]
title = "gas shut within 4 s of losing the flame"
after = "at 30 s"
within = "4 s"
expect = "not gas_valve"

[[assertion]]
title = "it burns again after the reset"
while = "between 40 s and 65 s"
sometime = "flame"
"""

EVERY = find_scenarios([shipped("scenarios")])
READY = [file for file in EVERY if load_scenario(file).is_for("builtin")]
"""The ready scenarios for the reference controller, and with `EVERY` those for others too."""

NO_ALARM = 'never = "out.alarm"'
"""How a ready scenario forbids the alarm: what would please it must keep quiet."""


def label(path: Path) -> str:
    """A ready scenario's name in the list of tests."""
    return f"{path.parent.name}-{path.stem}"


def scenario_of(text: str) -> Scenario:
    """The scenario that a text states."""
    return parse_scenario(text, "own.toml")


def play(scenario: Scenario | Path, device: str, folder: Path, **options: float) -> RunResult:
    """Play a scenario against a device; the run is in the logbook of `folder`."""
    ready = load_scenario(scenario) if isinstance(scenario, Path) else scenario
    return run_scenario(ready, device, book(folder), **options)  # type: ignore[arg-type]


def until_broken(file: Path) -> Scenario:
    """A ready scenario that ends at its first break: what is broken stays so, the rest would cost time."""
    return replace(load_scenario(file), stop_at_first_break=True)


def book(folder: Path) -> Logbook:
    """The logbook of `folder`, where the commands put it too."""
    return Logbook(folder / ".unlit" / "logbook.sqlite")


def meddler(habit: str) -> str:
    """A link to the reference controller in Python with a bad habit; see `devices/meddler.py`."""
    return f"run:{sys.executable} {MEDDLER} {habit}"


@dataclass(frozen=True)
class Done:
    """How a command ended."""

    code: int
    out: str
    err: str


def start(folder: Path, *words: str, before: str = "") -> subprocess.Popen[str]:
    """Start `unlit` with `words` in `folder`; `before` is Python to do first."""
    return subprocess.Popen(
        [sys.executable, "-c", before + COMMAND, *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "120"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def unlit(folder: Path, *words: str, before: str = "") -> Done:
    """Run `unlit` with `words` in `folder`; nobody is ever shown a traceback."""
    with start(folder, *words, before=before) as child:
        out, err = child.communicate()
    assert "Traceback" not in out + err
    assert "a fault of unlit" not in out + err
    return Done(child.returncode, out, err)
