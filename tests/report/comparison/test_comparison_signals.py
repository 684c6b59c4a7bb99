"""Where two runs part: against an oracle, and on small runs of known shape."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as nps

from harness.report.comparison.changes import compare
from harness.report.comparison.side import side_of
from harness.report.comparison.signals import (
    at_instants,
    common_instants,
    compare_signals,
    first_unlike_row,
    parting,
)
from harness.report.comparison.tolerance import Tolerance
from harness.report.comparison.two_runs import two_runs
from harness.report.console import as_text
from tests.report.page import small_run
from tests.report.page.small_run import Rows

TIMES = st.lists(st.integers(0, 50), min_size=1, max_size=20).map(lambda t: np.array(sorted(t), np.int64))


@st.composite
def tracks(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:  # type: ignore[type-arg]
    times = draw(TIMES)
    numbers = st.floats(-100, 100) | st.just(float("nan"))
    return times, draw(nps.arrays(np.float64, len(times), elements=numbers))


@given(tracks())
def test_at_its_own_times_a_signal_is_its_last_row(track) -> None:  # type: ignore[no-untyped-def]
    times, values = track
    last = dict(zip(times.tolist(), values.tolist(), strict=True))
    for held in (True, False):
        found = at_instants(np.unique(times), times, values, held=held)
        np.testing.assert_array_equal(found, list(last.values()))


@given(tracks(), TIMES)
def test_between_rows_it_holds_or_goes_straight(track, instants) -> None:  # type: ignore[no-untyped-def]
    times, values = track
    inside = instants[(instants >= times[0]) & (instants <= times[-1])]
    last = dict(zip(times.tolist(), values.tolist(), strict=True))
    held = [last[max(t for t in last if t <= instant)] for instant in inside.tolist()]
    np.testing.assert_array_equal(at_instants(inside, times, values, held=True), held)
    if np.isfinite(values).all():
        straight = np.interp(inside, list(last), list(last.values()))
        np.testing.assert_allclose(at_instants(inside, times, values, held=False), straight, atol=1e-9)


@given(tracks())
def test_with_itself_nothing_parts(track) -> None:  # type: ignore[no-untyped-def]
    times, values = track
    assert first_unlike_row(times, [values], times, [values]) is None
    instants = common_instants(times, times)
    here = at_instants(instants, times, values, held=True)
    assert parting(instants, here, here.copy()) is None


@given(tracks(), st.data())
def test_one_changed_value_is_found_where_it_is(track, data) -> None:  # type: ignore[no-untyped-def]
    times, values = track
    at = data.draw(st.integers(0, len(times) - 1))
    other = values.copy()
    other[at] = 777.0
    assert first_unlike_row(times, [values], times, [other]) == times[at]
    one, two = (at_instants(np.unique(times), times, each, held=True) for each in (values, other))
    found = parting(np.unique(times), one, two)
    hidden = (times[at + 1 :] == times[at]).any()
    assert (found is None) if hidden else (found is not None and found[0] == times[at])


def test_a_zero_of_another_sign_and_a_row_more_are_not_the_same() -> None:
    times = np.array([0, 10], np.int64)
    assert first_unlike_row(times, [np.array([0.0, 1.0])], times, [np.array([-0.0, 1.0])]) == 0
    more = np.array([0, 10, 20], np.int64)
    assert first_unlike_row(times, [np.zeros(2)], more, [np.zeros(3)]) == 20


def test_a_value_beside_none_differs_without_measure() -> None:
    instants = np.array([0, 10], np.int64)
    assert parting(instants, np.array([1.0, np.nan]), np.array([1.0, 2.0])) == (10, np.inf, 10)


def test_a_row_more_on_a_straight_line_parts_no_signal() -> None:
    """The plant's event of one run is a row that the other has not; what both do is the same."""
    few, many = np.array([0, 30], np.int64), np.array([0, 7, 30], np.int64)
    line = np.array([0.1, 0.7])
    instants = common_instants(few, many)
    straight = at_instants(instants, few, line, held=False)
    assert parting(instants, straight, np.interp(many, few, line)) is None


def two(folder: Path, before: Rows, after: Rows) -> list[str]:
    """The lines on two small runs."""
    one, other = small_run.record(folder, rows=before), small_run.record(folder, rows=after)
    compared = compare(side_of(one), side_of(other), Tolerance())
    return list(as_text(two_runs(compared, one, other, None, 80), 80))


def test_the_same_run_twice_is_the_same_to_the_bit(tmp_path: Path) -> None:
    lines = two(tmp_path, Rows(), Rows())
    assert "  signals: the same to the bit" in lines
    assert not any("o run" in line for line in lines)


def test_a_valve_that_shuts_later_parts_the_runs_there(tmp_path: Path) -> None:
    one, other = small_run.record(tmp_path), small_run.record(tmp_path, rows=Rows(shut_s=3.0))
    found = compare_signals(one, other)
    assert (found.same, found.row_ms, found.ends_ms) == (False, 31_500, (60_000, 60_000))
    valve, fault, gas = sorted(found.parted, key=lambda each: each.name != "gas_valve")[:3]
    assert (valve.name, valve.at_ms, valve.largest, valve.largest_ms) == ("gas_valve", 31_500, 1.0, 31_500)
    assert {fault.name, gas.name} == {"out.fault", "unburned_gas"}


def test_two_runs_as_a_person_reads_them(tmp_path: Path) -> None:
    text = "\n".join(two(tmp_path, Rows(), Rows(shut_s=3.0)))
    assert text.startswith("worse  A small run")
    assert "worse           +2.5 s         +1 s           gas shut in time" in text
    assert "run 1: board 1.2 (./board sha256 abababababababab) on run:./board" in text
    assert "signals: the runs part at 00:31.5; 3 signals differ from then on" in text
    assert "unburned_gas: * run 1, o run 2" in text
    assert all(len(line) <= 80 for line in text.splitlines())


@pytest.mark.parametrize(("end_s", "said"), [(50.0, "one run ends at 00:50.0, the other at 01:00.0")])
def test_a_run_that_ends_early_is_said(tmp_path: Path, end_s: float, said: str) -> None:
    assert any(said in line for line in two(tmp_path, Rows(), Rows(end_s=end_s)))


def test_a_signal_that_only_one_run_has(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    one = small_run.record(tmp_path)
    monkeypatch.delitem(small_run.UNITS, "ambient")
    found = compare_signals(one, small_run.record(tmp_path))
    assert (found.same, found.row_ms, found.only, found.parted) == (False, None, ("ambient",), ())


def test_a_value_beside_none_is_no_endless_difference(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A probe that is open in one run; what is drawn is what went furthest apart of the others."""
    one, table = small_run.record(tmp_path), Rows.table

    def open_probe(rows: Rows) -> tuple[np.ndarray, dict[str, np.ndarray]]:  # type: ignore[type-arg]
        times, columns = table(rows)
        return times, {**columns, "ambient": np.full(len(times), np.nan)}

    monkeypatch.setattr(Rows, "table", open_probe)
    other = small_run.record(tmp_path, rows=Rows(shut_s=3.0))
    compared = compare(side_of(one), side_of(other), Tolerance())
    lines = list(as_text(two_runs(compared, one, other, None, 80), 80))
    (line,) = [line for line in lines if line.endswith("ambient")]
    assert "one has none" in line
    assert any("unburned_gas: * run 1" in line for line in lines)
    assert not any("inf" in line.split() for line in lines)
