"""A requirement set against a real device: what only the device can tell is told with both lines."""

from __future__ import annotations

import pytest

from harness.assertions import Outcome, Status
from harness.errors import FileMistakesError
from tests.whole.rehearsal import BUSY, play, scenario_of

SET = '\n[[require]]\nuse = "flame-safeguard"\n'
LINE = (BUSY + SET).splitlines().index("[[require]]") + 1


def test_a_set_is_judged_like_the_scenario_s_own(tmp_path):
    text = BUSY + SET + 'parts = ["loss", "trial"]\nflame_loss_shut = "3 s"\n'
    result = play(scenario_of(text), "builtin", tmp_path)
    loss, trial = result.verdicts[:2]
    assert (loss.title, loss.outcome) == ("gas shut within 3 s of losing the flame", Outcome.MET)
    assert loss.basis.endswith("; 3 s is the scenario's own, the set has 4 s")
    assert (trial.outcome, result.status) == (Outcome.MET, Status.PASS)


def test_an_output_that_the_device_lacks_is_told_with_both_lines(tmp_path):
    text = BUSY + SET + 'parts = ["tries"]\nalarm = "out.horn"\n'
    with pytest.raises(FileMistakesError) as caught:
        play(scenario_of(text), "builtin", tmp_path)
    told = str(caught.value)
    assert told.startswith(f"own.toml:{LINE}: use: requirements/flame-safeguard.set.toml:")
    assert "no signal is called 'out.horn'" in told
