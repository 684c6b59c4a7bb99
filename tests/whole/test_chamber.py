"""A chamber's thermostat that gives its compressor no rest; and a plant from a person's own file."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from harness.errors import FileMistakesError
from harness.scenario import load_scenario
from tests.whole.rehearsal import EVERY, label, play, unlit

HASTY = Path(__file__).resolve().parent / "devices" / "hasty_chamber.py"
DEVICE = "builtin:chamber"

OWN = """
from plants import Parameter, Plant


class Urn(Plant):
    name = "urn"
    about = "An urn."
    diagram = "( water )--(beer)"
    parameters = (Parameter("volume", "L", 20.0, 1.0, 50.0, "assumed", "water"),)

    def build(self, net, setup):
        self.on = 0.0
        water = net.node("water", setup["volume"] * 4186.0, 20.0)
        net.conduct(water, net.room(20.0), 5.0)
        net.heat_source("heater", water, self.heat)
        net.temperature("water", "water in the urn", water)
        net.actuator("cooler", "bool", "nothing", lambda value: None)
        net.actuator("heater", "bool", "the heater", self.command)

    def command(self, value):
        self.on = value

    def heat(self):
        return 500.0 * self.on
"""
SCENARIO = """
title = "An urn of one's own"
plant = "my_urn.py"
length = "2 min"

[plant_setup]
volume = "10 L"

[wiring]
inputs = {}
outputs = { heater = "heater", cooler = "cooler" }

[[assertion]]
title = "cold"
always = "water < 30 degC"
"""


def test_a_loose_contact_tempts_a_hasty_thermostat(tmp_path):
    """Spikes on the beer's probe end the cooling and ask for it again at once."""
    (file,) = (file for file in EVERY if label(file) == "chamber-loose-probe")
    result = play(file, f"run:{sys.executable} -S {HASTY}", tmp_path)
    broken = [verdict.title for verdict in result.verdicts if verdict.outcome == "broken"]
    assert broken == ["the compressor is never started against pressure"]


def test_an_own_plant_is_played_checked_and_shown(tmp_path):
    (tmp_path / "my_urn.py").write_text(OWN)
    (tmp_path / "urn.toml").write_text(SCENARIO)
    assert unlit(tmp_path, "check", "urn.toml").code == 0
    assert "water in the urn" in unlit(tmp_path, "plants", "my_urn.py").out
    assert play(tmp_path / "urn.toml", DEVICE, tmp_path).status == "pass"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("def build(", "def 1build(", "my_urn.py: cannot be run: line 11: invalid decimal literal"),
        ("20.0)\n", "20.0 / (setup['volume'] - 10))\n", "plant_setup: my_urn.py: line 13: ZeroDivisionError"),
    ],
)  # fmt: skip
def test_an_own_plant_that_fails_is_a_mistake_of_the_scenario(tmp_path, old, new, message):
    (tmp_path / "my_urn.py").write_text(OWN.replace(old, new, 1))
    (tmp_path / "urn.toml").write_text(SCENARIO)
    with pytest.raises(FileMistakesError) as caught:
        load_scenario(tmp_path / "urn.toml")
    assert message in str(caught.value).replace(f"{tmp_path}/", "")
    done = unlit(tmp_path, "check", "urn.toml")
    assert done.code == 2
    assert message in (done.out + done.err).replace("\n", " ")


def test_a_missing_own_plant_is_told_by_both_commands(tmp_path):
    (tmp_path / "urn.toml").write_text(SCENARIO)
    for words in (("check", "urn.toml"), ("plants", "my_urn.py")):
        done = unlit(tmp_path, *words)
        assert done.code == 2
        assert "my_urn.py: there is no such file" in done.out + done.err


def test_an_own_plant_that_fails_in_the_middle_judges_nobody(tmp_path):
    late = OWN.replace(
        "self.on = 0.0",
        """self.on = 0.0
        net.queue.handle("late", lambda _: {}["gone"])
        net.queue.after(60_000, "late")""",
    )
    (tmp_path / "my_urn.py").write_text(late)
    (tmp_path / "urn.toml").write_text(SCENARIO)
    result = play(tmp_path / "urn.toml", DEVICE, tmp_path)
    assert result.status == "inconclusive"
    (reason,) = result.reasons
    assert reason.startswith("at 59.750 s: the plant failed: ")
    assert reason.endswith("my_urn.py: line 13: KeyError: 'gone'")
