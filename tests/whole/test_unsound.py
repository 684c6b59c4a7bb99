"""A plant that is not sound judges nobody: figures that are no numbers, books that do not close."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from harness.bench import run
from plants import ready_plants
from tests.whole.rehearsal import BUSY, play, scenario_of

HERMS = ready_plants()["herms-gas"]


class Lost(HERMS):
    """Its liquor temperature is no number from 50 s on."""

    def sample(self):
        values = super().sample()
        return [float("nan"), *values[1:]] if self.time_ms > 50_000 else values


class Frozen(HERMS):
    """Its liquor is colder than anything can be from 50 s on."""

    def sample(self):
        values = super().sample()
        return [-1e9, *values[1:]] if self.time_ms > 50_000 else values


class Leaky(HERMS):
    """Loses a thousandth of its water unseen."""

    def balance(self):
        books = super().balance()
        return replace(books, water_now_kg=books.water_now_kg * 0.999)


class Hot(HERMS):
    """Has a thousandth more heat than it was given."""

    def balance(self):
        books = super().balance()
        return replace(books, stored_j=books.stored_j + 1e-3 * books.turned_over_j)


@pytest.mark.parametrize(
    ("kind", "message"),
    [
        (Lost, r"the plant's signal liquor is not a number at 50\."),
        (Frozen, r"the plant's signal liquor is at -1e\+09 degC at 50\."),
        (Leaky, r"water balance is off by 1\.0e-03"),
        (Hot, r"energy balance is off by 1\.0e-03"),
    ],
    ids=["not a number", "not of this world", "water", "heat"],
)
def test_an_unsound_plant_makes_a_run_inconclusive(kind, message, reference, tmp_path, monkeypatch):
    monkeypatch.setattr(run, "ready_plants", lambda: {"herms-gas": kind})
    result = play(scenario_of(BUSY), reference().links["lib"], tmp_path)
    assert result.status == "inconclusive"
    (reason,) = result.reasons
    assert re.search(message, reason)
