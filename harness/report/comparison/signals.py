"""Two runs row by row: the same to the bit, or where they part, which signal first, and how far each goes.

Useful where firmware was rewritten and should do as before: what parts first is nearest to the cause.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from harness.assertions.names import is_switched
from harness.logbook import RunRecord

Times = NDArray[np.int64]
Values = NDArray[np.float64]


@dataclass(frozen=True)
class Parted:
    """A signal that is not the same in both runs.

    Attributes
    ----------
    at_ms : the first moment at which it differs. [ms]
    largest, largest_ms : its largest difference, the second run less the first, and when. [unit] [ms]
    """

    name: str
    unit: str
    at_ms: int
    largest: float
    largest_ms: int


@dataclass(frozen=True)
class SignalsCompared:
    """All recorded signals of two runs.

    Attributes
    ----------
    same : every bit of both is the same.
    parted : by the moment at which each parts.
    row_ms : the first row that is not the same; it may be one that the other run has not. None if `same`.
    ends_ms : how far each run went.
    only : names that one run has and the other has not.
    """

    same: bool
    parted: tuple[Parted, ...] = ()
    row_ms: int | None = None
    ends_ms: tuple[int, int] = (0, 0)
    only: tuple[str, ...] = ()


def compare_signals(before: RunRecord, after: RunRecord) -> SignalsCompared:
    """The recorded signals of two runs, over the time that both cover. LogbookError where one is damaged."""
    shared = [name for name in before.names if before.units[name] == after.units.get(name)]
    only = tuple(name for name in [*before.names, *after.names] if name not in shared)
    times_a, columns_a = before.signals(shared)
    times_b, columns_b = after.signals(shared)
    ends = tuple(int(times[-1]) if len(times) else 0 for times in (times_a, times_b))
    row = first_unlike_row(times_a, list(columns_a.values()), times_b, list(columns_b.values()))
    if row is None and not only:
        return SignalsCompared(True, ends_ms=(ends[0], ends[1]))
    instants = common_instants(times_a, times_b)
    parted = []
    for name in shared:
        held = is_switched(name, before.units[name])
        one = parting(
            instants,
            at_instants(instants, times_a, columns_a[name], held=held),
            at_instants(instants, times_b, columns_b[name], held=held),
        )
        if one is not None:
            parted.append(Parted(name, before.units[name], *one))
    parted.sort(key=lambda each: each.at_ms)
    return SignalsCompared(False, tuple(parted), row, (ends[0], ends[1]), tuple(dict.fromkeys(only)))


def first_unlike_row(
    times_a: Times, columns_a: Sequence[Values], times_b: Times, columns_b: Sequence[Values]
) -> int | None:
    """The time of the first row that is not the same, bit for bit; None where every row is. [ms]

    NaN is the same as NaN, as in the digest; 0.0 and -0.0 are not.
    """
    n = min(len(times_a), len(times_b))
    unlike = times_a[:n] != times_b[:n]
    for one, other in zip(columns_a, columns_b, strict=True):
        a, b = one[:n], other[:n]
        unlike |= ((a != b) | (np.signbit(a) != np.signbit(b))) & ~(np.isnan(a) & np.isnan(b))
    if unlike.any():
        at = int(np.argmax(unlike))
        return int(min(times_a[at], times_b[at]))
    if len(times_a) == len(times_b):
        return None
    return int((times_a if len(times_a) > n else times_b)[n])


def common_instants(times_a: Times, times_b: Times) -> Times:
    """Every time at which either run has a row, from the later start to the earlier end; shape (n,). [ms]"""
    if not len(times_a) or not len(times_b):
        return np.empty(0, np.int64)
    every = np.union1d(times_a, times_b)
    low, high = max(times_a[0], times_b[0]), min(times_a[-1], times_b[-1])
    inside: Times = every[(every >= low) & (every <= high)]
    return inside


def at_instants(instants: Times, times: Times, values: Values, *, held: bool) -> Values:
    """What a signal is at `instants`, shape (n,): of several rows of one time the last holds."""
    if not len(instants):
        return np.empty(0)
    last = np.append(times[1:] != times[:-1], True)
    times, values = times[last], values[last]
    row = np.searchsorted(times, instants, side="right") - 1
    if held:
        return values[row]
    following = np.minimum(row + 1, len(times) - 1)
    width = np.maximum(times[following] - times[row], 1)
    share = (instants - times[row]) / width
    straight = values[row] + share * (values[following] - values[row])
    result: Values = np.where(share == 0, values[row], straight)  # no NaN of a neighbour, no rounding
    return result


#: Where one run has a row between two of the other, a straight line in between is right to its last digits.
ROUNDING = 1e-9


def parting(instants: Times, one: Values, other: Values) -> tuple[int, float, int] | None:
    """When two signals first differ, their largest difference and when it is; None where they are the same.

    A value beside none differs, by infinity.
    """
    blank = np.isnan(one) & np.isnan(other)
    difference = np.where(blank, 0.0, other - one)
    difference[np.isnan(difference)] = np.inf
    size = np.abs(difference)
    room = ROUNDING * np.maximum(1.0, np.abs(np.nan_to_num(one)))
    unlike = size > room
    if not unlike.any():
        return None
    largest = int(np.argmax(size))
    return int(instants[np.argmax(unlike)]), float(difference[largest]), int(instants[largest])
