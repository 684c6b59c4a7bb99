"""No ready scenario passes a device that it should not: contrary ones, and good ones with a seeded fault."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from harness.scenario import Scenario
from tests.firmware import build_altered, build_stand_in
from tests.whole.rehearsal import NO_ALARM, READY, label, play, until_broken

CONTRARY = Path(__file__).resolve().parent / "c" / "contrary.c"
EVERYDAY = ("heating", "program")

#: The fault that each theme is about: what a device that is always in alarm would show to please it.
FAULTS = {"burner": 6, "flow": 9, "limits": 5, "line": 10, "panel": 11, "probes": 1}

#: By the letter of contrary.c.
HABITS = {
    "d": "dead",
    "a": "always in alarm",
    "l": "always lit",
    "e": "always lit and in alarm",
    "c": "by chance",
}

#: A device that never changes its answer need not be asked often; between exchanges the plant is exact. [ms]
SELDOM_MS = 2000


def habits(place: int, scenario: Scenario) -> str:
    """The letters of those who come nearest to passing: in alarm, but where the scenario forbids it.

    Every fourth scenario meets the one by chance too.
    """
    return ("dl" if NO_ALARM in scenario.text else "ae") + ("c" if place % 4 == 0 else "")


@pytest.fixture(scope="module")
def contrary(tmp_path_factory):
    """Link to the contrary device."""
    return f"lib:{build_stand_in(CONTRARY, tmp_path_factory.mktemp('contrary') / 'contrary.so')}"


@pytest.mark.parametrize(("place", "file"), list(enumerate(READY)), ids=map(label, READY))
def test_no_contrary_device_passes(place, file, contrary, tmp_path, monkeypatch):
    monkeypatch.setenv("CONTRARY_FAULT", str(FAULTS.get(file.parent.name, 0)))
    scenario = until_broken(file)
    seldom = replace(scenario, exchange_every_ms=max(SELDOM_MS, scenario.exchange_every_ms))
    for letter in habits(place, scenario):
        monkeypatch.setenv("CONTRARY_HABIT", letter)
        status = play(scenario if letter == "c" else seldom, contrary, tmp_path).status
        assert status != "pass", HABITS[letter]
        if letter == "e" and file.parent.name not in EVERYDAY:
            assert status == "fail", HABITS[letter]


#: A wrong figure in the table of controller_config.c, and the ready scenario that must fail for it.
SEEDED = {
    "loss_ms = 6000": "burner/flame-lost",
    "trial_ms = 4000": "burner/late-light",
    "trial_ms = 20000": "burner/no-light",
    "tries = 100": "burner/no-light",
    "purge_ms = 0": "burner/no-light",
    "purge_again_ms = 0": "burner/no-light",
    "limit_trip = 94000": "limits/high-limit-manual",
    "limit_reset = 100000": "limits/high-limit-manual",
    "flow_lost_ms = 30000": "flow/pump-stops",
    "silence_ms = 8000": "line/line-silence",
    "probe_lost_ms = 20000": "probes/coil-outlet-open",
    "reach_band = 4000": "program/working-day",
}


@pytest.mark.parametrize(("figure", "name"), SEEDED.items(), ids=SEEDED)
def test_a_seeded_fault_is_found(figure, name, tmp_path):
    (file,) = (path for path in READY if path.with_suffix("").as_posix().endswith(name))
    library = build_altered(figure, tmp_path)
    assert play(until_broken(file), f"lib:{library}", tmp_path).status == "fail"
