"""A record of heat and temperature over time: what a test leaves behind and every method reads."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class HeatRecord:
    """Rows of one test, rising in time.

    Attributes
    ----------
    time_s : shape (n,). [s]
    heat : shape (n,); share of the full heat from a row's time until the next row, 0 to 1.
    temperature : shape (n,); as the probe read it, NaN where it gave none. [degC]
    probe : the name of the probe.

    Raises
    ------
    ValueError
        If the columns differ in length, hold fewer than 3 rows, or time does not rise.
    """

    time_s: Array
    heat: Array
    temperature: Array
    probe: str = "temperature"

    def __post_init__(self) -> None:
        lengths = {len(self.time_s), len(self.heat), len(self.temperature)}
        if len(lengths) != 1 or lengths.pop() < 3:
            raise ValueError("a record needs columns of one length and at least 3 rows.")
        if not (np.diff(self.time_s) > 0.0).all():
            raise ValueError("the time of a record must rise from row to row.")
        if not np.isfinite(self.heat).all():
            raise ValueError("the heat of a record must be known in every row.")

    @cached_property
    def changes(self) -> tuple[Array, Array]:
        """When the heat changes, and to what; the first entry is the first row. Shapes (k,)."""
        moved = np.flatnonzero(np.diff(self.heat)) + 1
        at = np.concatenate([[0], moved])
        return self.time_s[at], self.heat[at]

    def until(self, time_s: float) -> HeatRecord:
        """The rows up to and at `time_s`."""
        end = int(np.searchsorted(self.time_s, time_s, side="right"))
        return HeatRecord(self.time_s[:end], self.heat[:end], self.temperature[:end], self.probe)
