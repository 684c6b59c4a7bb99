"""The examples of plants/README.md run."""

import re
from pathlib import Path

import plants
from tests.plants.small_plants import signal

README = Path(plants.__file__).with_name("README.md").read_text(encoding="utf-8")
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
