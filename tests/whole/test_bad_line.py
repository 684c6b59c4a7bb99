"""A line that fails now and then costs repeats, not the run."""

from __future__ import annotations

import pytest

from harness.bench.device import Device
from tests.whole.rehearsal import BUSY, book, meddler, play, scenario_of

QUICK_S = 0.15
#: What is done to the line, and whether the bench must send again for it.
FAULTS = {
    "damages_answers": True,
    "damages_questions": True,
    "loses_answers": True,
    "loses_questions": True,
    "repeats_answers": False,
}


@pytest.fixture(scope="module")
def clean(tmp_path_factory):
    """The busy scenario over a good line."""
    return play(scenario_of(BUSY), meddler("good"), tmp_path_factory.mktemp("clean"))


def test_the_meddler_can_leave_the_line_alone(clean, tmp_path):
    assert clean.digest == play(scenario_of(BUSY), "builtin", tmp_path).digest
    assert (clean.status, clean.repeats) == ("pass", 0)


@pytest.mark.parametrize(("habit", "repeated"), FAULTS.items(), ids=FAULTS)
def test_a_poor_line_gives_the_clean_run(habit, repeated, clean, tmp_path):
    result = play(scenario_of(BUSY), meddler(habit), tmp_path, answer_timeout_s=QUICK_S)
    assert (result.status, result.reasons) == ("pass", ())
    assert result.digest == clean.digest
    assert result.verdicts == clean.verdicts
    assert (result.repeats > 5) is repeated


def test_a_person_who_stops_at_the_very_end_is_told_so(reference, tmp_path, monkeypatch):
    def stopped(device: Device) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Device, "end", stopped)
    result = play(scenario_of(BUSY), reference().links["lib"], tmp_path)
    assert (result.status, result.exchanges) == ("inconclusive", 480)
    assert result.reasons == ("stopped by a person at 120.000 s",)
    assert book(tmp_path).runs()[0].shown_status == "inconclusive"
