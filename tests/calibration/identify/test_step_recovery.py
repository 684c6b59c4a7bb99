"""A step test comes near a known truth, and its intervals hold it: a part of the 300 benchmark cases."""

from __future__ import annotations

import pytest

from tests.calibration.recovery import FIGURES, Case, cases, score


@pytest.fixture(scope="module")
def done() -> list[Case]:
    return list(cases(18, 6))


@pytest.mark.parametrize("figure", FIGURES)
def test_each_figure_is_near_and_inside_its_interval(done: list[Case], figure: str) -> None:
    median, inside = score(done, figure)
    assert median < 0.05
    assert inside >= 0.9


def test_intervals_are_no_wider_than_they_must_be(done: list[Case]) -> None:
    for case in done:
        assert case.found is not None
        value, interval = case.found.figures()["gain"]
        assert interval is not None
        assert interval.high - interval.low < (0.11 if case.complete else 1.0) * value


def test_no_test_takes_longer_than_four_hours(done: list[Case]) -> None:
    assert max(case.length_s for case in done) <= 4 * 3600.0
