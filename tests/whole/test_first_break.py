"""`stop_at_first_break`: the run ends soon after a break, and says so."""

from __future__ import annotations

from dataclasses import replace

from harness.assertions import AssertionSpec, Outcome, Status
from harness.scenario import load_scenario
from tests.whole.rehearsal import BUSY, book, play, scenario_of

LATE = AssertionSpec("gas shut at once", after="at 30 s", within_ms=100, expect="not gas_valve")


def test_a_run_stops_soon_after_the_first_break(tmp_path):
    """Broken at 30.1 s; the other assertions say no more than what was seen."""
    busy = scenario_of(BUSY)
    scenario = replace(busy, stop_at_first_break=True, assertions=(*busy.assertions, LATE))
    result = play(scenario, "builtin", tmp_path)
    assert result.status is Status.FAIL
    assert 30_100 < result.length_ms < 60_000
    assert [verdict.outcome for verdict in result.verdicts] == [
        Outcome.NOT_JUDGED, Outcome.NOT_JUDGED, Outcome.BROKEN,
    ]  # fmt: skip
    assert result.reasons == ()
    assert result.notes[0].startswith(f"stopped at {result.length_ms / 1000:.3f} s: 'gas shut at once' is")
    assert result.events[-1].text == "the run stops here: 'gas shut at once' is broken"
    stored = book(tmp_path).read(result.run_id).summary
    assert (stored.end.length_ms, stored.status) == (result.length_ms, Status.FAIL)


def test_without_a_break_or_the_key_it_is_the_same_run(tmp_path):
    busy = scenario_of(BUSY)
    whole = play(busy, "builtin", tmp_path)
    watched = play(replace(busy, stop_at_first_break=True), "builtin", tmp_path)
    assert (watched.digest, watched.verdicts, watched.notes) == (whole.digest, whole.verdicts, whole.notes)
    broken = play(replace(busy, assertions=(*busy.assertions, LATE)), "builtin", tmp_path)
    assert (broken.digest, broken.length_ms) == (whole.digest, 120_000)


def test_the_key_is_read(tmp_path):
    file = tmp_path / "one.toml"
    file.write_text("stop_at_first_break = true\n" + BUSY)
    assert load_scenario(file).stop_at_first_break
    assert not scenario_of(BUSY).stop_at_first_break


def test_what_was_still_to_come_is_not_judged(tmp_path):
    """The record ends where the run stopped, so that a moment that never came triggers nothing."""
    later = AssertionSpec("lit at the end", after="at 110 s", within_ms=1000, expect="flame")
    busy = scenario_of(BUSY)
    result = play(replace(busy, stop_at_first_break=True, assertions=(LATE, later)), "builtin", tmp_path)
    assert [verdict.outcome for verdict in result.verdicts] == [Outcome.BROKEN, Outcome.NOT_JUDGED]
    times, _ = book(tmp_path).read(result.run_id).signals(["flame"])
    assert times[-1] == result.length_ms
