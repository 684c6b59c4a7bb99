"""The response of a first-order process with dead time to heat that is switched or varied.

The process is written by its steepest rise b and its loss rate a, so that one form serves for both kinds:

    x'(t) = b u(t - L) - a x(t)           gain b / a, time constant 1 / a; a = 0: integrating, slope b

Between two changes of the heat u it is solved exactly; nothing depends on how finely the record is cut.
"""

from __future__ import annotations

import numpy as np

from harness.calibration.record import Array

_FLAT = 1e-9
"""Below this |a t| the exponential is a straight line to rounding."""
_ONE_SUM = 20.0
"""Over this many time constants the decays are taken out of one sum; beyond, rounding would grow."""


def driven_response(
    time_s: Array, changes_s: Array, heat: Array, slope: float, loss: float, dead_s: float
) -> Array:
    """The rise above the temperature without heat.

    Parameters
    ----------
    time_s : shape (n,); when it is wanted, in any order. [s]
    changes_s, heat : shape (k,), rising; from each time on the heat has that value; before the first, the
        first value is taken as 0, and so is the rise. [s], share of the full heat
    slope : b, the steepest rise for full heat. [K/s]
    loss : a, how fast a rise is lost again; below 0 it would grow by itself. [1/s]
    dead_s : L. [s]

    Returns
    -------
    ndarray, shape (n,)
        [K]

    Examples
    --------
    >>> at = np.array([20.0, 120.0])
    >>> driven_response(at, np.zeros(1), np.ones(1), slope=0.4, loss=0.01, dead_s=20.0).round(3).tolist()
    [0.0, 25.285]
    """
    reached = _at_changes(changes_s, heat, slope, loss)
    inner = time_s - dead_s
    piece = np.searchsorted(changes_s, inner, side="right") - 1
    began = np.maximum(piece, 0)
    since = np.where(piece >= 0, inner - changes_s[began], 0.0)
    return reached[began] * np.exp(-loss * since) + slope * heat[began] * _grown(loss, since)


def _grown(loss: float, since: Array) -> Array:
    """Integral of exp(-a t) from 0 to `since`."""
    if np.abs(loss * since).max(initial=0.0) < _FLAT:
        return since
    return np.asarray(-np.expm1(-loss * since) / loss)


def _at_changes(changes_s: Array, heat: Array, slope: float, loss: float) -> Array:
    """The rise at each change, without the dead time."""
    gained = slope * heat[:-1] * _grown(loss, np.diff(changes_s))
    if abs(loss) * float(changes_s[-1] - changes_s[0]) < _ONE_SUM:
        decay = np.exp(-loss * (changes_s - changes_s[0]))
        return np.concatenate([[0.0], decay[1:] * np.cumsum(gained / decay[1:])])
    rise, reached = 0.0, [0.0]
    for kept, more in zip(np.exp(-loss * np.diff(changes_s)).tolist(), gained.tolist(), strict=True):
        rise = rise * kept + more
        reached.append(rise)
    return np.array(reached)
