"""Chamber and kiln: their scenarios pass their own controllers as they say, and no stubborn device."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from harness.links.builtin import OTHERS
from harness.scenario import load_scenario
from harness.scenario.model import DEVICES
from tests.whole.rehearsal import EVERY, NO_ALARM, READY, label, play, unlit, until_broken

FILES = [file for file in EVERY if file not in READY]
STUBBORN = Path(__file__).resolve().parent / "devices" / "stubborn.py"

ALONE = """
title = "No heat is asked for"
plant = "pottery-kiln"
length = "1 min"
device = "builtin:kiln"

[[assertion]]
title = "cold"
never = "element_relay"
"""


def test_the_devices_of_scenarios_are_those_of_links():
    assert list(DEVICES) == ["builtin", *(f"builtin:{name}" for name in OTHERS)]


@pytest.mark.parametrize("file", FILES, ids=label)
def test_it_ends_as_it_says_and_no_stubborn_device_passes(file, tmp_path):
    scenario = load_scenario(file)
    result = play(scenario, scenario.device, tmp_path)
    assert (result.status, result.reasons) == (scenario.expected, ())
    model = scenario.device.partition(":")[2]
    for habit in ("off", "calm" if NO_ALARM in scenario.text else "on"):
        device = f"run:{sys.executable} -S {STUBBORN} {model} {habit}"
        assert play(until_broken(file), device, tmp_path).status != "pass", habit


def test_a_folder_is_played_without_what_is_for_others(tmp_path):
    (tmp_path / "kiln.toml").write_text(ALONE)
    brewing = ALONE.replace('device = "builtin:kiln"\n', "").replace("element_relay", "gas_valve")
    (tmp_path / "brewing.toml").write_text(brewing.replace("pottery-kiln", "herms-gas"))
    each = unlit(tmp_path, "run", ".")
    assert (each.code, "2 runs: 2 pass" in each.out) == (0, True)
    some = unlit(tmp_path, "run", ".", "--device", "builtin:degF")
    assert (some.code, "1 run: 1 pass" in some.out) == (0, True)
    assert "left out: 1 for builtin:kiln; name a file to play it all the same" in some.err
    named = unlit(tmp_path, "run", "kiln.toml", "--device", "builtin:kiln")
    assert named.code == 0
    (tmp_path / "brewing.toml").unlink()
    none = unlit(tmp_path, "run", ".", "--device", "builtin")
    assert none.code == 2
    assert "all of these scenarios are for builtin:kiln" in none.err


@pytest.mark.parametrize("word", ["kiln,wall", "chamber:x", "kin"])
def test_a_wrong_word_after_builtin_is_told(word, tmp_path):
    done = unlit(tmp_path, "hello", f"builtin:{word}")
    assert done.code == 2
    assert "Write builtin:" in done.err
