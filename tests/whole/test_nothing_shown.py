"""A disturbance that never reached the device, or a device out of step with the bench, shows nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from harness.scenario import Disturbance, PanelValue
from tests.whole.outcomes import SHORT
from tests.whole.outcomes import play as play_short
from tests.whole.rehearsal import BUSY, book, meddler, play, scenario_of

PRESS = {"estop": PanelValue(True, None, 1)}
LONG_MS = 250

#: Between two exchanges, or too rare: the disturbance, and what the reason must say.
UNFELT = {
    "a button": (
        Disturbance("set-panel", at_ms=8100, for_ms=100, panel=PRESS),
        "set-panel was over at 8.200 s",
    ),
    "a silence": (Disturbance("line-silence", at_ms=8100, for_ms=100), "line-silence was over at 8.200 s"),
    "a rare fault": (
        Disturbance("line-lost", at_ms=8000, for_ms=1000, sizes={"every": 900.0}),
        "line-lost was over at 9.000 s and struck nothing",
    ),
    "a rare fault to the end": (
        Disturbance("line-corrupted", at_ms=8000, sizes={"every": 900.0}),
        "line-corrupted was over at 10.000 s and struck nothing",
    ),
}


def run(disturbance: Disturbance, reference):
    return play_short(reference().links["lib"], scenario=replace(SHORT, disturbances=(disturbance,)))[0]


@pytest.mark.parametrize(("disturbance", "reason"), UNFELT.values(), ids=UNFELT)
def test_what_the_device_never_felt_is_no_pass(disturbance, reason, reference):
    result = run(disturbance, reference)
    assert result.status == "inconclusive"
    assert len(result.reasons) == 1
    assert reason in result.reasons[0]


@pytest.mark.parametrize("name", ["a button", "a silence"])
def test_one_exchange_is_enough_to_be_felt(name, reference):
    disturbance, _ = UNFELT[name]
    assert run(replace(disturbance, for_ms=LONG_MS), reference).reasons == ()


def test_a_button_pressed_in_a_silence_is_told_as_unheard(reference):
    silence = Disturbance("line-silence", at_ms=8000, for_ms=1000)
    press = Disturbance("set-panel", at_ms=8100, for_ms=500, panel=PRESS)
    result, _ = play_short(reference().links["lib"], scenario=replace(SHORT, disturbances=(silence, press)))
    assert result.reasons == ()
    assert "the panel was set and let go while the device heard nothing" in [e.text for e in result.events]


def test_a_fault_of_the_line_that_lasts_to_the_end_tells_how_often_it_struck(reference):
    result = run(Disturbance("line-repeated", at_ms=8000, sizes={"every": 4.0}), reference)
    assert result.reasons == ()
    assert result.events[-1].text == "line-repeated struck 4 times"


def test_a_device_in_its_own_pace_cannot_pass(tmp_path):
    result = play(scenario_of(BUSY), meddler("own_pace"), tmp_path)
    assert result.status == "inconclusive"
    (reason,) = result.reasons
    assert "keeps its own time" in reason


def test_a_damaged_line_is_shown(tmp_path):
    result = play(scenario_of(BUSY), meddler("odd_words"), tmp_path)
    assert result.status == "pass"
    texts = {event.text for event in book(tmp_path).read(result.run_id).events}
    assert "damaged line from the device (form): 'tell Gain 5*" in "".join(sorted(texts))


def test_a_fault_of_the_plant_that_met_nothing_is_no_pass(reference):
    late = Disturbance("does-not-light", at_ms=8000, for_ms=250)
    result = run(late, reference)
    assert result.status == "inconclusive"
    assert "does-not-light began, but had nothing to act on" in result.reasons[0]
