"""A run hands its rows on as it goes, also while the device is not asked."""

from __future__ import annotations

from dataclasses import replace

import pytest

from harness.bench.recorder import CHUNK_ROWS
from harness.bench.run import run_scenario
from harness.scenario import Disturbance
from tests.whole.outcomes import SHORT, Nowhere


class Counted(Nowhere):
    """A logbook that only counts the rows of each chunk."""

    def __init__(self) -> None:
        self.rows: list[int] = []

    def chunk(self, times, values) -> None:
        self.rows.append(len(times))


@pytest.mark.parametrize("kind", ["line-silence", "power-cut", "flame-lost"])
def test_no_chunk_grows_with_the_run(kind, reference):
    lasting = 19 * 60_000 if kind != "flame-lost" else None
    disturbance = Disturbance(kind, at_ms=1000, for_ms=lasting, sizes={} if lasting else {"stood": 3.0})
    book = Counted()
    run_scenario(
        replace(SHORT, length_ms=20 * 60_000, disturbances=(disturbance,)),
        reference().links["lib"],
        book,  # type: ignore[arg-type]
    )
    assert sum(book.rows) > 4 * CHUNK_ROWS
    assert max(book.rows) < CHUNK_ROWS + 100
