"""The matrix functions of exact stepping: exp, phi1 and phi2, and the bound that says how finely to begin."""

from __future__ import annotations

from math import ceil, factorial, log2

import numpy as np

_NOTHING = 1e-100
"""A rate below this counts as none: the scaling would leave the range of the numbers."""
_SMALL = 0.5
_TERMS = 13
"""The series of phi2 to this power leaves out less than 1e-17 where |Ah| is at most `_SMALL`."""


def rate_bound(a: np.ndarray) -> float:
    """Largest row sum of |A| [1/s] once rows and columns are scaled to like size.

    Joules beside kelvins make the plain norm useless. Scaling by powers of two as Osborne 1960
    (J. ACM 7:338-345).
    """
    size = np.abs(a)
    size[size < _NOTHING] = 0.0
    for _ in range(8):
        off = size - np.diag(np.diag(size))
        rows, columns = off.sum(axis=1), off.sum(axis=0)
        used = (rows > 0.0) & (columns > 0.0)
        scale = np.where(columns > 0.0, 1.0, 2.0**40)
        scale[used] = 2.0 ** np.round(0.25 * np.log2(rows[used] / columns[used]))
        size = size / scale[:, None] * scale[None, :]
    return float(size.sum(axis=1).max())


def phi_matrices(a: np.ndarray, bound: float, seconds: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """exp(Ah), phi1(Ah) and phi2(Ah) for a step of h `seconds`; `bound` is `rate_bound(a)`.

    Series of phi2 for a part of the step, then doubling: phi2(2z) = (phi1(z)^2 + 2 phi2(z)) / 4,
    phi1(2z) = (exp(z) + 1) phi1(z) / 2 (Skaflestad and Wright 2009, Appl. Numer. Math. 59:783-799).
    """
    doublings = max(0, ceil(log2(max(bound * seconds, 1e-300) / _SMALL)))
    one, ah = np.eye(len(a)), a * (seconds / 2.0**doublings)
    phi2 = one / factorial(_TERMS + 2)
    for power in range(_TERMS - 1, -1, -1):
        phi2 = ah @ phi2
        phi2.flat[:: len(a) + 1] += 1.0 / factorial(power + 2)
    phi1 = ah @ phi2 + one
    e = ah @ phi1 + one
    for _ in range(doublings):
        phi2 = (phi1 @ phi1 + 2.0 * phi2) * 0.25
        phi1 = (e + one) @ phi1 * 0.5
        e = e @ e
    return e, phi1, phi2
