"""One short text that two runs share only if every recorded signal is the same, bit for bit."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray


class RunDigest:
    """SHA-256 over names, units, times and values of a run, fed chunk by chunk.

    Where the chunks are cut does not matter: times and values go into two hashes of their own, values
    row by row, and the two are joined at the end. Every NaN counts as the same NaN, because its payload
    differs between processors; 0.0 and -0.0 differ.
    """

    def __init__(self, names: Sequence[str], units: Sequence[str]) -> None:
        self._width = len(names)
        self._head = json.dumps([list(names), list(units)]).encode()
        self._times = hashlib.sha256()
        self._values = hashlib.sha256()

    def chunk(self, times: NDArray[np.int64], values: NDArray[np.float64]) -> None:
        """Take the next rows: `times` (n,) in ms, `values` (n, m) with a column a name."""
        if values.shape != (len(times), self._width):
            raise ValueError(f"values have shape {values.shape}, wanted ({len(times)}, {self._width})")
        rows = values.astype("<f8").ravel()
        rows[np.isnan(rows)] = np.nan
        self._times.update(times.astype("<i8").data)
        self._values.update(rows.data)

    def hexdigest(self) -> str:
        """64 hexadecimal digits for what was taken so far; more chunks may follow."""
        joined = hashlib.sha256(self._head)
        joined.update(self._times.digest())
        joined.update(self._values.digest())
        return joined.hexdigest()
