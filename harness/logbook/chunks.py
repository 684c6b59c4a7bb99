"""Rows of a run as bytes and back.

Columns lie one after the other, little-endian, then zlib level 1: a column changes slowly, so its bytes
repeat. Every bit comes back, the payload of a NaN included.
"""

from __future__ import annotations

import zlib

import numpy as np
from numpy.typing import NDArray

Times = NDArray[np.int64]
Values = NDArray[np.float64]


def pack_times(times: Times) -> bytes:
    """Times (n,) in ms as bytes."""
    return zlib.compress(times.astype("<i8", copy=False).tobytes(), 1)


def pack_values(values: Values) -> bytes:
    """Values (n, m) as bytes, column after column."""
    return zlib.compress(values.astype("<f8", copy=False).tobytes(order="F"), 1)


def unpack_times(blob: bytes, count: int) -> Times:
    """The `count` times of one chunk, in ms; ValueError if it does not hold that many."""
    times = np.frombuffer(zlib.decompress(blob), dtype="<i8").astype(np.int64, copy=False)
    return times.reshape(count)


def unpack_values(blob: bytes, count: int, width: int) -> Values:
    """The values of one chunk, shape (`width`, `count`), a row a signal; ValueError if not so many."""
    flat = np.frombuffer(zlib.decompress(blob), dtype="<f8").astype(np.float64, copy=False)
    return flat.reshape(width, count)
