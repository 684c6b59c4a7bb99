"""Pieces of a run: cuts, values at them, runs of elements."""

import math

import numpy as np
import pytest

from harness.assertions.grid import TINY_MS, Stretch, begins, ends, runs


def whole(times, switched=(), **columns):
    table = {name: np.array(values, float) for name, values in columns.items()}
    return Stretch(np.array(times, float), None, table, frozenset(switched), {}).whole()


def test_a_cut_reads_straight_lines_and_holds_switched_signals():
    grid = whole([0, 10, 20], switched=("b",), x=[0, 10, 30], b=[0, 1, 0]).cut(np.array([4.0, 15.0]))
    start, end = grid.line("x")
    assert start.tolist() == [0, 4, 10, 20]
    assert end.tolist() == [4, 10, 20, 30]
    assert grid.line("b")[0].tolist() == grid.line("b")[1].tolist() == [0, 0, 1, 1]


def test_the_rows_themselves_stay_exact_and_known_beside_a_missing_one():
    grid = whole([0, 10, 20], x=[0.1, 0.3, math.nan]).cut(np.array([5.0, 15.0]))
    start, end = grid.line("x")
    assert (start[0], end[1], start[2]) == (0.1, 0.3, 0.3)
    assert np.isnan([end[2], start[3], end[3]]).all()


@pytest.mark.parametrize(
    "moments",
    [[5.0, 5.0 + TINY_MS / 2], [5.0, 5.0], [-1.0, 5.0, 30.0], [TINY_MS / 2, 5.0, 20.0 - TINY_MS / 2]],
)
def test_moments_that_are_one_cut_once(moments):
    assert whole([0, 10, 20], x=[0, 0, 0]).cut(np.array(moments)).edges.tolist() == [0, 5, 10, 20]


def test_a_cut_that_changes_nothing_keeps_the_grid():
    grid = whole([0, 10, 20], x=[0, 0, 0])
    assert grid.cut(np.array([0.0, 10.0, 20.0, 99.0])) is grid


def test_runs_are_unbroken_and_elements_have_their_time():
    found = runs(np.array([1, 0, 1, 1, 0, 1], bool))
    assert found == [(0, 0), (2, 3), (5, 5)]
    edges = np.array([0.0, 10.0, 20.0, 30.0])
    times = [(begins(edges, first), ends(edges, last)) for first, last in found]
    assert times == [(0, 0), (10, 20), (20, 30)]
    assert runs(np.zeros(3, bool)) == []
