"""From many lags to one or two with a dead time: Skogestad's half rule.

Of g(s) = k exp(-L s) prod(T_j s + 1) / prod(tau_i s + 1) the largest lag is kept. The largest neglected lag
is split, half to the dead time and half to the smallest lag that is kept; all smaller lags, and numerator
constants below 0 by their size, go to the dead time. Numerator constants above 0 are cancelled against a
neighbouring lag first, by his rules T1 to T3.

Source: Skogestad 2003, Simple analytic rules for model reduction and PID controller tuning, J. Process
Control 13:291-309, sections 2.2 and 2.3 (the rules T1 to T3 from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

_REPEATS = 50
_CLOSE = 1.6 - 1e-9


@dataclass(frozen=True)
class Reduced:
    """k exp(-dead_time s) / prod(lag s + 1), one lag or two, the larger first. [s]"""

    gain: float
    lags_s: tuple[float, ...]
    dead_time_s: float


def half_rule(
    gain: float,
    lags_s: Sequence[float],
    numerators_s: Sequence[float] = (),
    dead_time_s: float = 0.0,
    *,
    order: int = 1,
) -> Reduced:
    """The process with `order` lags that behaves alike.

    Parameters
    ----------
    gain : k.
    lags_s : all tau_i; more than 0, one at least.
    numerators_s : all T_j; above or below 0.
    dead_time_s : L; 0 or more.
    order : 1 or 2 lags are kept.

    Examples
    --------
    >>> found = half_rule(1.0, [2.0, 1.0, 0.4, 0.2, 0.05, 0.05, 0.05], [-0.3, 0.08])
    >>> [round(figure, 6) for figure in (*found.lags_s, found.dead_time_s)]
    [2.5, 1.47]
    """
    if not lags_s or min(lags_s) <= 0.0:
        raise ValueError(f"lags_s = {list(lags_s)}: give one at least, all more than 0.")
    guess = dead_time_s
    found = _reduced(gain, lags_s, numerators_s, dead_time_s, order, guess)
    for _ in range(_REPEATS):  # the rules ask for the dead time that they lead to
        if abs(found.dead_time_s - guess) < 1e-9 * max(1.0, guess):
            break
        guess = 0.5 * (guess + found.dead_time_s)
        found = _reduced(gain, lags_s, numerators_s, dead_time_s, order, guess)
    return found


def _reduced(
    gain: float,
    lags_s: Sequence[float],
    numerators_s: Sequence[float],
    dead_s: float,
    order: int,
    guess: float,
) -> Reduced:
    lags = sorted(lags_s, reverse=True)
    for constant in sorted((one for one in numerators_s if one > 0.0), reverse=True):
        if constant < min(lags) and constant < guess:
            dead_s -= constant  # far below every lag that matters: it is worth its own length of dead time
            continue
        gain, lags = _cancelled(gain, lags, constant, guess)
    lags.sort(reverse=True)
    kept, neglected = lags[:order], lags[order:]
    if neglected:
        kept[-1] += 0.5 * neglected[0]
        dead_s += 0.5 * neglected[0] + sum(neglected[1:])
    dead_s -= sum(one for one in numerators_s if one < 0.0)
    return Reduced(gain, tuple(kept), max(0.0, dead_s))


def _cancelled(gain: float, lags: list[float], constant: float, dead_s: float) -> tuple[float, list[float]]:
    """(constant s + 1) taken together with one of the lags; the gain and the lags that are left."""
    larger = [lag for lag in lags if lag >= constant]
    smaller = [lag for lag in lags if lag < constant]
    above, below = min(larger, default=None), max(smaller, default=None)
    close = below is not None and (
        above is None or (constant / below < above / constant and constant / below < _CLOSE)
    )
    lag = below if close else above
    assert lag is not None
    left = list(lags)
    if len(left) == 1:  # the only lag: cancelled into the gain it would leave nothing
        return gain, [lag - constant] if lag > constant else [lag]
    left.remove(lag)
    if close:
        if lag >= dead_s:
            return gain * constant / lag, left  # T1
        return (gain * constant / dead_s if constant >= dead_s else gain), left  # T1a, T1b
    if constant >= 5.0 * dead_s:
        return gain * constant / lag, left  # T2
    virtual = min(lag, 5.0 * dead_s)
    if virtual <= constant:
        return gain, left
    return gain * virtual / lag, [*left, virtual - constant]  # T3
