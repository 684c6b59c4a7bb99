"""The examples of plants/README.md run."""

import re
import sys
from pathlib import Path

import plants
from harness.bench.run import run_scenario
from harness.logbook import Logbook
from harness.scenario import load_scenario
from harness.shipped import shipped
from plants.own import load_plant
from tests.plants.small_plants import signal

README = Path(plants.__file__).with_name("README.md").read_text(encoding="utf-8")
SCENARIO = re.search(r"```toml\n(.*?)```", README, re.DOTALL)
EXAMPLES = re.findall(r"```python\n(.*?)```", README, re.DOTALL)


def test_the_example_of_use_runs(capsys):
    exec(EXAMPLES[0], {})
    told = capsys.readouterr().out
    assert "1500 flame lights" in told
    assert "5000 flame lost" in told


def test_the_example_of_an_own_plant_heats_water():
    """2.5 kW on 20 L and a wall of 1.5 kJ/K: 1.76 K/min less the losses."""
    space = {"__name__": "readme"}
    exec(EXAMPLES[1], space)
    urn = space["Urn"]({"probe_noise": 0.0})
    urn.command([1])
    urn.advance(600_000)
    assert 17.0 < signal(urn, "water") - 20.0 < 17.6
    assert urn.reader([("water", "mdegC")])()[0] / 1000 < signal(urn, "water")
    assert urn.balance().heat_error < 1e-12


def test_the_example_is_a_plant_of_one_s_own_in_a_scenario(tmp_path):
    """The file as it is shown, by its path, against the thermostat that ships with the kit."""
    (tmp_path / "my_urn.py").write_text(EXAMPLES[1], encoding="utf-8")
    (tmp_path / "urn.toml").write_text(SCENARIO[1], encoding="utf-8")
    assert load_plant(tmp_path / "my_urn.py").name == "urn"
    thermostat = shipped("firmware_stubs") / "python" / "example_thermostat.py"
    logbook = Logbook(tmp_path / "logbook.sqlite")
    result = run_scenario(load_scenario(tmp_path / "urn.toml"), f"run:{sys.executable} {thermostat}", logbook)
    assert (result.status, result.reasons) == ("pass", ())
