"""Thinned for drawing, a signal keeps what a person looks for: its peaks, its edges, its gaps."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.report.page.thin import thin

FIGURES = st.one_of(st.floats(-1e3, 1e3), st.sampled_from([0.0, 1.0]), st.just(math.nan))
SIGNALS = st.lists(st.tuples(st.integers(0, 50), FIGURES), min_size=1, max_size=200)


def columns(rows: list[tuple[int, float]]) -> tuple[np.ndarray, np.ndarray]:  # type: ignore[type-arg]
    return np.cumsum([step for step, _ in rows]), np.array([value for _, value in rows])


def drawn(values: np.ndarray, kept: np.ndarray, held: bool) -> np.ndarray:  # type: ignore[type-arg]
    """What the drawing shows for sure: what holds, or the kept rows and what is flat between two of them."""
    if held:
        return values[kept[np.searchsorted(kept, np.arange(len(values)), side="right") - 1]]
    shown = np.full(len(values), math.nan)
    for first, last in pairwise(kept.tolist()):
        if values[first] == values[last]:
            shown[first : last + 1] = values[first]
    shown[kept] = values[kept]
    return shown


@given(SIGNALS, st.integers(1, 20), st.booleans())
def test_every_bucket_keeps_its_extremes(rows: list[tuple[int, float]], buckets: int, held: bool) -> None:
    times, values = columns(rows)
    shown = drawn(values, thin(times, values, buckets, held=held), held)
    bucket = (times - times[0]) * buckets // (max(int(times[-1] - times[0]), 1) + 1)
    for number in np.unique(bucket[np.isfinite(values)]):
        inside = bucket == number
        assert np.nanmin(shown[inside]) <= np.nanmin(values[inside])
        assert np.nanmax(shown[inside]) >= np.nanmax(values[inside])
        if not held:
            assert np.nanmin(shown[inside]) == np.nanmin(values[inside])
            assert np.nanmax(shown[inside]) == np.nanmax(values[inside])


@given(SIGNALS, st.integers(1, 20), st.booleans())
def test_rows_rise_and_the_ends_stay(rows: list[tuple[int, float]], buckets: int, held: bool) -> None:
    times, values = columns(rows)
    kept = thin(times, values, buckets, held=held)
    assert (np.diff(kept) > 0).all()
    assert (kept[0], kept[-1]) == (0, len(times) - 1)


@given(SIGNALS, st.booleans())
def test_nothing_is_lost_where_there_is_room(rows: list[tuple[int, float]], held: bool) -> None:
    times, values = columns(rows)
    kept = thin(times, values, len(times), held=held)
    for row, value in enumerate(values):
        before = kept[np.searchsorted(kept, row, side="right") - 1]
        if held or before != row:
            assert values[before] == value or (math.isnan(values[before]) and math.isnan(value))


@given(SIGNALS, st.integers(1, 5), st.booleans())
def test_a_gap_stays_a_gap(rows: list[tuple[int, float]], buckets: int, held: bool) -> None:
    times, values = columns(rows)
    kept = thin(times, values, buckets, held=held)
    missing = np.isnan(values)
    began = sum(missing[1:] & ~missing[:-1])
    assert sum(missing[kept][1:] & ~missing[kept][:-1]) == began


@pytest.mark.parametrize("at", [1, 777, 71_998])
def test_a_spike_of_one_row_in_four_hours_survives(at: int) -> None:
    times = np.arange(72_000) * 200
    values = 60 + np.sin(times / 1e5)
    values[at] = 99.0
    kept = thin(times, values, 500, held=False)
    assert values[kept].max() == 99.0
    assert len(kept) <= 2 * 500 + 2


def test_in_a_window_every_row_that_tells_something_stays() -> None:
    times = np.arange(10_000) * 100
    values = np.sin(times / 300)
    kept = thin(times, values, 50, held=False, windows=[(100_000, 110_000)])
    assert set(range(1000, 1101)) <= set(kept.tolist())
    assert len(kept) < 300


def test_a_chattering_output_is_thinned_but_keeps_both_states() -> None:
    times = np.arange(100_000) * 100
    values = (np.arange(100_000) % 2).astype(float)
    kept = thin(times, values, 300, held=True)
    assert len(kept) <= 3 * 300 + 2
    assert set(values[kept].tolist()) == {0.0, 1.0}


def test_no_rows_draw_nothing() -> None:
    assert len(thin(np.empty(0, np.int64), np.empty(0), 10, held=True)) == 0
