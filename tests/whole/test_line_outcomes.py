"""No fault of the line and no reset gives a hang, a traceback, a false pass or another record, anywhere."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harness.errors import LinkError
from harness.links.hostile import BYTE_FAULTS, Fault, Way
from harness.scenario import Disturbance
from tests.whole.outcomes import (
    SHORT,
    STRUCK_MS,
    byte_faults,
    cut_at,
    cut_table,
    line_faults,
    line_table,
    outcome,
    play,
    play_from_the_first,
    reset_table,
)

SAMPLED = ("run", "pty")


def test_every_fault_at_every_byte_of_an_exchange(reference):
    """Once is got over, and what comes late too; what lasts, or a pulled cable, leaves it inconclusive."""
    device = reference().links["lib"]
    _, clean = play(device)
    rows = line_table(device, byte_faults(clean))
    assert len(rows) == 26
    for label, outcomes in rows.items():
        struck = clean.bytes[Way.TO_DEVICE if "to-device" in label else Way.TO_BENCH]
        assert outcomes == {expected_of_bytes(label): struck}, label


def expected_of_bytes(label: str) -> str:
    """What must become of a fault of bytes."""
    ends = "unplugged" in label or ("lasting" in label and "late" not in label)
    return "inconclusive" if ends else "recovered"


def expected(label: str) -> str:
    """What must become of a fault of lines."""
    loses = "lasting" in label and ("lost" in label or "flipped" in label)
    return "inconclusive" if loses or "reset" in label or "unplugged" in label else "recovered"


@pytest.mark.parametrize("kind", ["lib", *SAMPLED])
def test_every_fault_of_lines(kind, reference):
    faults = [fault for fault in line_faults() if kind == "lib" or fault.first == 0]
    for label, outcomes in line_table(reference().links[kind], faults).items():
        assert set(outcomes) == {expected(label)}, label


#: The two introductions, `go`, `put` and the first exchanges of the short run, in lines of the device.
FIRST_LINES = 95


@pytest.mark.parametrize("what", ["lost", "flipped", "repeated", "late"])
def test_a_line_of_the_introduction_too(what, reference):
    """A channel that is lost with its line would be missed by the wiring: the list is asked for twice."""
    device = reference().links["lib"]
    clean, _ = play(device)
    for first in range(FIRST_LINES):
        result = play_from_the_first(device, Fault(what, Way.TO_BENCH, first, lines=True))
        assert outcome(result, clean) == "recovered", first


def test_a_sample_of_bytes_of_the_introduction(reference):
    device = reference().links["lib"]
    clean, _ = play(device)
    for what in BYTE_FAULTS.keys() - {"unplugged"}:
        for first in range(0, 1500, 97):
            result = play_from_the_first(device, Fault(what, Way.TO_BENCH, first))
            assert outcome(result, clean) == "recovered", (what, first)


def test_a_cable_pulled_in_the_introduction_begins_no_run(reference):
    for first in (0, 20, 700):
        with pytest.raises(LinkError, match="the port is gone"):
            play_from_the_first(reference().links["lib"], Fault("unplugged", Way.TO_BENCH, first))


@pytest.mark.parametrize("kind", SAMPLED)
def test_a_sample_of_bytes_on_slower_links(kind, reference):
    device = reference().links[kind]
    faults = byte_faults(play(device)[1], stride=23)
    for label, outcomes in line_table(device, faults).items():
        assert set(outcomes) == {expected_of_bytes(label)}, label


def test_the_same_fault_costs_the_same_on_every_link(reference):
    """The wrapper waits for what is owed and for nothing else, so repeats are counted alike."""
    for fault in (Fault("lost", Way.TO_BENCH, 3, 200), Fault("late", Way.TO_BENCH, every=2, lines=True)):
        runs = [play(link, fault)[0] for link in reference().links.values()]
        counts = {(run.repeats, run.notes, run.digest, run.status) for run in runs}
        assert len(counts) == 1
        assert runs[0].repeats > 0


def test_a_device_that_resets_at_any_exchange_never_passes(reference):
    turns = SHORT.length_ms // SHORT.exchange_every_ms
    rows = reset_table(reference().links["lib"])
    assert list(rows.values()) == [Counter(inconclusive=turns)] * 2


def test_the_reason_names_the_reset(reference):
    result, _ = play(reference().links["lib"], Fault("reset", Way.TO_DEVICE, lines=True))
    assert "It restarted during the run" in result.reasons[0]
    assert result.reasons[0].startswith(f"at {STRUCK_MS / 1000:.3f} s: ")


def test_a_power_cut_at_any_exchange_is_judged(reference):
    """Before the fire burns the run fails for want of it; after that nothing starts by itself."""
    rows = cut_table(reference().links["lib"])
    fire = play(reference().links["lib"])[0].verdicts[0].decided_ms
    failed = -(-fire // SHORT.exchange_every_ms)
    turns = SHORT.length_ms // SHORT.exchange_every_ms
    for label, outcomes in rows.items():
        assert outcomes == {"fail": failed, "pass": turns - failed}, label


@pytest.mark.parametrize("kind", SAMPLED)
def test_resets_and_cuts_on_slower_links(kind, reference):
    device = reference().links[kind]
    in_process = reference().links["lib"]
    for at_ms in (0, 7000):
        result, _ = play(device, Fault("reset", Way.TO_BENCH, lines=True), at_ms=at_ms)
        assert result.status == "inconclusive"
        cut, _ = play(device, scenario=cut_at(at_ms, 1000))
        assert cut.digest == play(in_process, scenario=cut_at(at_ms, 1000))[0].digest
        assert cut.reasons == ()


KINDS = ("line-corrupted", "line-lost", "line-repeated", "late-answers")
upsets = st.builds(
    Disturbance,
    st.sampled_from(KINDS),
    at_ms=st.integers(0, 39).map(lambda turn: turn * SHORT.exchange_every_ms),
    for_ms=st.sampled_from([None, 1500]),
    sizes=st.builds(dict, every=st.integers(1, 30).map(float)),
)


cuts = st.builds(
    Disturbance, st.just("power-cut"), at_ms=st.integers(0, 9000), for_ms=st.sampled_from([None, 1, 900])
)


@settings(max_examples=100)
@given(faults=st.lists(upsets, min_size=1, max_size=4), cut=st.lists(cuts, max_size=1))
def test_any_mixture_is_got_over_or_said(faults, cut, reference):
    """Several at once, begun and ended, about a power cut too: the record without them, or a reason."""
    device = reference().links["lib"]
    clean, _ = play(device, scenario=replace(SHORT, disturbances=tuple(cut)))
    result, _ = play(device, scenario=replace(SHORT, disturbances=(*faults, *cut)))
    assert outcome(result, clean) in ("recovered", "inconclusive")
