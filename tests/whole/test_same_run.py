"""One scenario, one seed, one firmware: one run, on every link and at every time of the device's clock."""

from __future__ import annotations

from dataclasses import replace

import pytest

from harness.scenario import load_scenario
from tests.whole.rehearsal import BUSY, READY, label, play, scenario_of

LINKS = ("builtin", "run", "pty", "lib")
SETPOINT = 'mash_setpoint = "66 degC"'
CLOCK = 2**32


@pytest.fixture
def link(reference):
    """From a kind of link to the link to the reference controller; `builtin` is the one in Python."""
    return lambda kind: kind if kind == "builtin" else reference().links[kind]


@pytest.fixture(scope="module")
def first(reference, tmp_path_factory):
    """The busy scenario over `lib:`, what all others are compared with."""
    return play(scenario_of(BUSY), reference().links["lib"], tmp_path_factory.mktemp("first"))


def test_the_busy_scenario_is_played_to_its_end(first):
    assert first.status == "pass", first
    assert first.exchanges == 480
    happened = [event.text for event in first.events]
    assert {"flame lost", "set-panel starts", "line-silence ends", "tell stage 4"} <= set(happened)


@pytest.mark.parametrize("kind", LINKS)
def test_every_link_gives_the_same_run_each_time(kind, link, first, tmp_path):
    for _ in range(2):
        result = play(scenario_of(BUSY), link(kind), tmp_path)
        assert result.digest == first.digest
        assert result.verdicts == first.verdicts
        assert [event for event in result.events if event.source != "link"] == list(first.events)
        assert result.repeats == 0


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('plant = "herms-gas"', 'seed = 2\nplant = "herms-gas"'),
        (SETPOINT, 'mash_setpoint = "66.1 degC"'),
        ('liquor_start = "50 degC"', 'liquor_start = "50.001 degC"'),
        ('at = "30 s"', 'at = "30.001 s"'),
    ],
)
def test_another_figure_gives_another_run(old, new, link, first, tmp_path):
    assert old in BUSY
    assert play(scenario_of(BUSY.replace(old, new, 1)), link("lib"), tmp_path).digest != first.digest


@pytest.mark.parametrize("kind", ["builtin", "lib"])
@pytest.mark.parametrize("start_ms", [CLOCK - 1, CLOCK - 33_125, CLOCK - 101_500, 2**31 - 60_000])
def test_the_clock_rolls_over_unseen(kind, start_ms, link, first, tmp_path):
    rolled = play(replace(scenario_of(BUSY), start_ms=start_ms), link(kind), tmp_path)
    assert rolled.digest == first.digest
    assert rolled.verdicts == first.verdicts


@pytest.mark.parametrize("file", READY, ids=label)
def test_ready_scenarios_do_not_see_the_clock_roll_over(file, link, tmp_path):
    scenario = load_scenario(file)
    scenario = replace(scenario, length_ms=min(scenario.length_ms, 10 * 60_000))
    middle = CLOCK - scenario.length_ms // 2
    plain, rolled = (play(replace(scenario, start_ms=t), link("lib"), tmp_path) for t in (0, middle))
    assert plain.digest == rolled.digest


@pytest.mark.parametrize("kind", LINKS)
def test_a_panel_in_fahrenheit_is_the_same_on_every_link(kind, reference, tmp_path):
    scenario = scenario_of(BUSY.replace(SETPOINT, 'mash_setpoint = "152 degF"', 1))
    device = "builtin:degF" if kind == "builtin" else reference("degF").links[kind]
    results = [play(scenario, link, tmp_path) for link in (device, "builtin:degF")]
    assert results[0].digest == results[1].digest
    assert results[0].status == "pass"
