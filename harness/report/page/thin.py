"""Fewer rows for drawing, so that every peak and every edge is still there.

A signal that is straight between rows: the time drawn is cut into equal buckets, and of each bucket the rows
with the smallest and the largest value stay, whatever lies between. A signal that holds: every change stays,
unless there are more than a drawing can show; then the extremes of each bucket and its last value stay. Rows
at which a figure goes missing or comes back, the first and last row, and all within the kept windows stay.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

Times = NDArray[np.int64]
Values = NDArray[np.float64]
Rows = NDArray[np.intp]
Window = tuple[float, float]


def thin(times: Times, values: Values, buckets: int, *, held: bool, windows: Iterable[Window] = ()) -> Rows:
    """The rows to draw, rising.

    Parameters
    ----------
    times : ndarray, shape (n,)
        Rising or staying. [ms]
    values : ndarray, shape (n,)
        NaN where there is no figure.
    buckets : int
        Into how many the time is cut; a bucket leaves two rows, of a held signal three.
    held : bool
        Whether the signal holds until the next row.
    windows : iterable of (from, to)
        Nothing is left out there but rows that change nothing. [ms]
    """
    if len(times) == 0:
        return np.empty(0, np.intp)
    telling = np.flatnonzero(_telling(values, held))
    most = 3 * buckets if held else 2 * buckets
    if len(telling) <= most:
        return telling
    kept = [telling[[0, -1]], _gaps(values, telling), *_inside(times, telling, windows)]
    kept += _extremes(times, values, buckets, held)
    return np.unique(np.concatenate(kept))


def _telling(values: Values, held: bool) -> NDArray[np.bool_]:
    """Rows without which the drawn line would be another: ends, changes, and what lies before a slope."""
    missing = np.isnan(values)
    change = (values[1:] != values[:-1]) & ~(missing[1:] & missing[:-1])
    telling = np.ones(len(values), bool)
    telling[1:-1] = change[:-1] if held else change[:-1] | change[1:]
    return telling


def _gaps(values: Values, rows: Rows) -> Rows:
    missing = np.isnan(values[rows])
    gaps: Rows = rows[:-1][missing[1:] != missing[:-1]]
    return gaps


def _inside(times: Times, rows: Rows, windows: Iterable[Window]) -> list[Rows]:
    moments = times[rows]
    return [rows[(moments >= low) & (moments <= high)] for low, high in windows]


def _extremes(times: Times, values: Values, buckets: int, held: bool) -> list[Rows]:
    """Of each bucket the row of the smallest and of the largest figure, and of a held signal the last one."""
    known = np.flatnonzero(~np.isnan(values))
    if len(known) == 0:
        return []
    span = max(int(times[-1] - times[0]), 1)
    bucket = (times[known] - times[0]) * buckets // (span + 1)
    # Sorted by bucket, then by value: each bucket begins with its smallest and ends with its largest.
    order = known[np.lexsort((values[known], bucket))]
    begins = np.flatnonzero(np.diff(bucket, prepend=-1))
    finishes = np.append(begins[1:] - 1, len(known) - 1)
    return [order[begins], order[finishes], *([known[finishes]] if held else [])]
