"""The matrix functions of exact stepping: exp, phi1 and phi2, and the bound that says how finely to begin."""

from __future__ import annotations

from math import ceil, factorial, log2

import numpy as np

_SMALL = 0.5
"""The series of phi2 is taken of a part of the step that is at most so large."""
_LEFT_OUT = 1e-17


def rate_bound(a: np.ndarray, units: np.ndarray) -> float:
    """No rate [1/s] in A is faster: its largest column sum, each state counted in `units` of its own.

    Joules beside kelvins make the plain norm useless. In joules, what leaves a store arrives elsewhere, so a
    column sums up to twice the rate at which its store gives heat away.
    """
    return float((units @ np.abs(a) / units).max(initial=0.0))


def phi_matrices(a: np.ndarray, bound: float, seconds: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """exp(Ah), phi1(Ah) and phi2(Ah) for a step of h `seconds`; `bound` is that of `rate_bound`.

    Series of phi2 for a part of the step, then doubling: phi2(2z) = (phi1(z)^2 + 2 phi2(z)) / 4,
    phi1(2z) = (exp(z) + 1) phi1(z) / 2 (Skaflestad and Wright 2009, Appl. Numer. Math. 59:783-799).
    """
    doublings = max(0, ceil(log2(max(bound * seconds, 1e-300) / _SMALL)))
    part, terms = seconds / 2.0**doublings, 1
    while (bound * part) ** (terms + 1) / factorial(terms + 3) > _LEFT_OUT:
        terms += 1
    one, ah = np.eye(len(a)), a * part
    phi2 = one / factorial(terms + 2)
    for power in range(terms - 1, -1, -1):
        phi2 = ah @ phi2
        phi2.flat[:: len(a) + 1] += 1.0 / factorial(power + 2)
    phi1 = ah @ phi2 + one
    e = ah @ phi1 + one
    for _ in range(doublings):
        phi2 = (phi1 @ phi1 + 2.0 * phi2) * 0.25
        phi1 = (e + one) @ phi1 * 0.5
        e = e @ e
    return e, phi1, phi2
