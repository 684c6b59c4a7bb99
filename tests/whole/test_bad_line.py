"""A line that fails now and then costs repeats, not the run."""

from __future__ import annotations

import pytest

from tests.whole.rehearsal import BUSY, meddler, play, scenario_of

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
