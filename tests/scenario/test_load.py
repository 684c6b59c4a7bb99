"""What a right file becomes."""

from pathlib import Path

import pytest

from harness.errors import FileMistakesError
from harness.scenario import Disturbance, PanelValue, Wiring, load_scenario, parse_scenario

GOOD = Path(__file__).parent / "good"
SMALL = """
title = "T"
plant = "kettle"
length = "10 min"

[[assertion]]
title = "never lit"
never = "flame"
"""


@pytest.fixture(scope="module")
def whole(plants):
    return load_scenario(GOOD / "whole.toml", plants)


def test_the_head(whole):
    assert (whole.file, whole.text) == (str(GOOD / "whole.toml"), (GOOD / "whole.toml").read_text())
    assert (whole.title, whole.why, whole.notes) == ("Everything at once", "To see each key read.", "none")
    assert (whole.plant, whole.length_ms, whole.exchange_every_ms) == ("kettle", 3_600_000, 100)
    assert (whole.start_ms, whole.seed, whole.expected) == (2**32 - 60_000, 7, "inconclusive")
    assert whole.themes == ("heating", "clock")


def test_the_set_up_is_in_the_parameters_units(whole):
    assert whole.plant_setup == pytest.approx(
        {
            "liquor_volume": 37.85411784,
            "burner_power": 10_000,
            "ambient": 45,
            "burner_count": 2,
            "lid_on": 1,
            "emissivity": 0.85,
            "grain_heat": 1.65,
        }
    )
    assert whole.plant_setup["ambient"] <= 45, "a limit in another unit is not passed by rounding"


def test_the_wiring_and_the_panel(whole):
    assert whole.wiring == Wiring(
        inputs={"tank": "liquor"},
        outputs={"gas": "gas_valve"},
        unwired=("igniter",),
        line=22,
        lines={"inputs.tank": 23, "outputs.gas": 24, "unwired": 25},
    )
    assert whole.panel == {
        "mash_setpoint": PanelValue(152.0, "degF", 28),
        "mode": PanelValue(1.0, None, 29),
        "run": PanelValue(True, None, 30),
    }


def test_the_disturbances(whole):
    assert whole.disturbances == (
        Disturbance(
            "probe-drift",
            place="limit",
            at_ms=480_000,
            end_ms=720_000,
            sizes={"offset": pytest.approx(5.0), "growth": 0.5},
            line=32,
        ),
        Disturbance(
            "set-panel",
            at_ms=1_205_000,
            for_ms=1000,
            panel={"reset": PanelValue(True, None, 47)},
            repeat_every_ms=120_000,
            times=3,
            line=39,
        ),
        Disturbance("line-silence", when="liquor > 50 degC", for_ms=5000, line=49),
        Disturbance("type", at_ms=0, text="status", repeat_every_ms=1_500_000, times=3, line=54),
    )


def test_the_assertion_knows_its_lines(whole):
    (spec,) = whole.assertions
    assert (spec.title, spec.basis, spec.after, spec.expect) == (
        "gas shut within 4 s",
        "common practice",
        "falls(flame)",
        "not gas_valve",
    )
    assert (spec.within_ms, spec.held_ms, spec.grace_ms) == (4000, 10_000, 2000)
    assert (spec.while_, spec.file) == ("between 1 min and 50 min", whole.file)
    assert (spec.lines["title"], spec.lines["within"], spec.lines["grace"]) == (61, 64, 68)
    assert spec.lines[""] == spec.lines["always"] == 60, "a key that is not there stands at the header"


def test_what_a_small_file_leaves_out(plants):
    scenario = parse_scenario(SMALL, "small.toml", plants)
    assert (scenario.exchange_every_ms, scenario.start_ms, scenario.seed) == (250, 0, 1)
    assert (scenario.expected, scenario.themes, scenario.wiring) == ("pass", (), None)
    assert (scenario.plant_setup, scenario.panel, scenario.disturbances) == ({}, {}, ())


@pytest.mark.parametrize("change", [("\n", "\r\n"), ("", "\ufeff")], ids=["CR LF", "byte order mark"])
def test_files_from_other_editors(change, plants, tmp_path):
    file = tmp_path / "small.toml"
    file.write_bytes(SMALL.replace(*change, -1 if change[0] else 1).encode())
    scenario = load_scenario(file, plants)
    assert scenario.title == "T"
    assert scenario.assertions[0].lines["never"] == 8


def test_a_wiring_file_beside_the_scenario(plants):
    text = SMALL.replace("[[", 'wiring = "rig.wiring.toml"\n[[', 1)
    wiring = parse_scenario(text, str(GOOD / "x.toml"), plants).wiring
    assert wiring is not None
    assert (wiring.inputs, wiring.outputs, wiring.unwired) == (
        {"tank": "liquor"},
        {"gas": "gas_valve"},
        ("igniter",),
    )
    assert (wiring.file, wiring.line) == (str(GOOD / "rig.wiring.toml"), 0)
    assert wiring.lines == {"inputs.tank": 4, "outputs.gas": 7, "unwired": 1}


@pytest.mark.parametrize("value", ["0x" + "f" * 5000, "9" * 30, "-1e999", "1979-05-27T07:32:00Z"])
@pytest.mark.parametrize(
    "key", ["length", "seed", "panel.run", "plant_setup.burner_count", "plant_setup.ambient"]
)
def test_monstrous_numbers_are_refused_with_a_short_message(key, value, plants):
    text = f"{key} = {value}\n" + SMALL.replace('length = "10 min"' if key == "length" else "\0", "")
    with pytest.raises(FileMistakesError) as caught:
        parse_scenario(text, "x.toml", plants)
    (message,) = str(caught.value).splitlines()
    assert message.startswith("x.toml:1: ")
    assert len(message) < 200


def test_a_wrong_expression_is_told_at_its_line(plants):
    text = SMALL.replace(
        "[[",
        """
[[disturbance]]
kind = "flame-lost"
when = "liqour > 50 degC and in.anything"

[[""",
    ).replace('"flame"', '"liquor > 50 L"')
    with pytest.raises(FileMistakesError) as caught:
        parse_scenario(text, "x.toml", plants)
    when, never = caught.value.mistakes
    assert (when.line, never.line) == (9, 13)
    assert when.what.startswith("when: column 1: ")
    assert "liquor" in when.what
    assert never.what.startswith("never: column ")


def test_keys_that_do_not_go_together_stand_at_the_key(plants):
    with pytest.raises(FileMistakesError) as caught:
        parse_scenario(SMALL + 'within = "4 s"\n\n[[assertion]]\ntitle = "nothing"\n', "x.toml", plants)
    assert [one.line for one in caught.value.mistakes] == [9, 11]
