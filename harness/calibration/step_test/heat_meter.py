"""Heat as it flowed, row by row: a flame that lights between two readings counts from its millisecond."""

from __future__ import annotations

import numpy as np

from harness.calibration.record import Array


class HeatMeter:
    """Sums switched heat up between rows. Times rise; 0 to 1 of the full heat."""

    def __init__(self) -> None:
        self._now_ms, self._heat, self._sum = 0, 0.0, 0.0
        self._rows: list[int] = []
        self._sums: list[float] = []

    def change(self, t_ms: int, heat: float) -> None:
        """From `t_ms` on the heat is `heat`."""
        self._carry(t_ms)
        self._heat = heat

    def row(self, t_ms: int) -> None:
        """A row of the record begins."""
        self._carry(t_ms)
        self._rows.append(t_ms)
        self._sums.append(self._sum)

    def _carry(self, t_ms: int) -> None:
        self._sum += self._heat * (t_ms - self._now_ms)
        self._now_ms = t_ms

    def shares(self) -> Array:
        """Mean heat from each row to the next, shape (rows,); of the last row, the heat at its time."""
        if len(self._rows) < 2:
            return np.full(len(self._rows), self._heat)
        return np.append(np.diff(self._sums) / np.diff(self._rows), self._heat)
