"""Rows to chunks: what the run records is judged and stored chunk by chunk.

A row is the plant's truth, the panel and probe values as sent, the outputs as answered and the device's
figures, all as they hold from its time on. Rows gather in two flat arrays; a full chunk goes to the
monitors, to the digest and to the logbook's writer, so that memory stays bounded however long the run is.
"""

from __future__ import annotations

import sys
from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from harness.bench.unbroken import unbroken

NAN = float("nan")
FIGURES = (-sys.float_info.max, sys.float_info.max)
TEMPERATURES = (-273.15, 10_000.0)
"""Beyond these no signal of a plant tells of anything; all that is no number lies beyond them."""
CHUNK_ROWS = 1024


@dataclass(frozen=True)
class Column:
    """A recorded signal: `recorded = raw * scale + offset`; `truth` marks the plant's own signals."""

    name: str
    unit: str
    scale: float = 1.0
    offset: float = 0.0
    truth: bool = False


class ChunkSink(Protocol):
    """What takes chunks: times (n,) [ms] and values (n, m) in the columns' order."""

    def chunk(self, times_ms: NDArray[np.int64], values: NDArray[np.float64]) -> None: ...


class Recorder:
    """Gathers rows and hands on whole chunks.

    Parameters
    ----------
    columns : all signals in row order.
    sinks : called in order with each chunk.
    chunk_rows : how many rows make a chunk.
    """

    def __init__(
        self, columns: Sequence[Column], sinks: Iterable[ChunkSink], chunk_rows: int = CHUNK_ROWS
    ) -> None:
        self.columns = tuple(columns)
        self._sinks = tuple(sinks)
        self._chunk_rows = chunk_rows
        self._times = array("q")
        self._values = array("d")
        self._width = len(self.columns)
        self._scale = np.array([column.scale for column in columns])
        self._offset = np.array([column.offset for column in columns])
        self._truth = np.array([column.truth for column in columns], dtype=bool)
        ends = [TEMPERATURES if column.unit == "degC" else FIGURES for column in columns if column.truth]
        self._low, self._high = np.array(ends).reshape(-1, 2).T
        self.unsound: str | None = None

    def row(
        self, t_ms: int, truth: Sequence[float], readings: Sequence[int | None], rest: Sequence[float]
    ) -> None:
        """Add a row of raw values at `t_ms`, in the columns' order; a reading of None is no reading."""
        self._times.append(t_ms)
        values = self._values
        values.extend(truth)
        values.extend([NAN if r is None else r for r in readings] if None in readings else readings)  # type: ignore[arg-type]
        values.extend(rest)

    @property
    def full(self) -> bool:
        """Whether a chunk's worth of rows waits."""
        return len(self._times) >= self._chunk_rows

    def flush(self) -> None:
        """Hand the waiting rows on as one chunk; without rows, do nothing.

        Ctrl-C waits until all sinks have it, so that digest, verdicts and record tell of the same rows.
        """
        with unbroken():
            self._hand_on()

    def _hand_on(self) -> None:
        # Ctrl-C may have come amid a row: what is of it is left out.
        rows = min(len(self._times), len(self._values) // self._width)
        if not rows:
            return
        times = np.array(self._times[:rows], dtype=np.int64)
        values = np.array(self._values[: rows * self._width], dtype=np.float64).reshape(rows, self._width)
        self._times, self._values = array("q"), array("d")
        values *= self._scale
        values += self._offset
        self._check(times, values)
        for sink in self._sinks:
            sink.chunk(times, values)

    def _check(self, times: NDArray[np.int64], values: NDArray[np.float64]) -> None:
        """Note the first plant signal that is no figure of this world: nothing can be judged on it."""
        if self.unsound is not None:
            return
        truth = values[:, self._truth]
        bad = ~((truth >= self._low) & (truth <= self._high))
        if bad.any():
            row, position = np.argwhere(bad)[0]
            column = [column for column in self.columns if column.truth][position]
            value = truth[row, position]
            what = f"is at {value:.3g} {column.unit}" if np.isfinite(value) else "is not a number"
            self.unsound = (
                f"the plant's signal {column.name} {what} at {times[row] / 1000:.3f} s; "
                "the plant's setup or its model is unsound"
            )
