"""Parameters that make a plant's readings those of a log: bounded least squares, with intervals.

Each column counts by its own scatter and by the rows that one independent reading takes, so that a column
that is read often, or that the model follows badly, does not outvote the others (weights by repetition). The
intervals are those of the linearised problem (Bates and Watts 1988, section 2.3, recalled). Parameters that
trade against each other have none: their interval is the whole range. Solver: scipy.optimize.least_squares,
trust region reflective (Branch, Coleman and Li 1999).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from harness.calibration.fitting.log import Array
from harness.calibration.identify.correlation import correlation_rows
from harness.calibration.process import Interval
from plants.kernel.describe import Parameter

STEP = 0.02
"""Of a parameter's value, for a difference quotient: readings come in thousandths of a degree."""
LEAST_STEP = 1e-3
"""Of a parameter's range, where its value is near 0."""
AT_BOUND = 1e-3
"""Of a parameter's range: nearer to its end is at its end."""
FLOOR = 0.005
"""Scatter that a column has at least [K]: the model's own rounding."""
WEIGHINGS = 2
EVALUATIONS = 20
TRADE = 0.99
"""Correlation of two estimates from which on they cannot be told apart."""


@dataclass(frozen=True)
class Fitted:
    """What was found.

    Attributes
    ----------
    values : by parameter.
    intervals : 95 %; the whole range where the log says nothing.
    at_bound : parameters that ended at an end of their range.
    together : pairs that trade against each other: the log tells one only if the other is known.
    residuals : log less model, shape (rows, columns); NaN where nothing was read. [K]
    scatter : root mean square of the residuals by column. [K]
    plays : how often the plant was played.
    """

    values: Mapping[str, float]
    intervals: Mapping[str, Interval]
    at_bound: tuple[str, ...]
    together: tuple[tuple[str, str], ...]
    residuals: Array
    scatter: tuple[float, ...]
    plays: int


def solve(
    play: Callable[[Mapping[str, float]], Array],
    measured: Array,
    free: Sequence[Parameter],
    begin: Mapping[str, float],
    progress: Callable[[int], None] | None = None,
) -> Fitted:
    """Fit the free parameters.

    Parameters
    ----------
    play : readings of the plant with these values of the free parameters, shape of `measured`. [degC]
    measured : shape (rows, columns); NaN where nothing was read. [degC]
    free : the parameters, with their ranges.
    begin : values to begin from; a parameter's default where there is none.
    progress : called with the number of plays so far.
    """
    from scipy.optimize import least_squares
    from scipy.stats import t as student

    low, high = (np.array([getattr(one, end) for one in free]) for end in ("low", "high"))
    span, seen = high - low, np.isfinite(measured)
    names = [one.name for one in free]
    column = np.broadcast_to(np.arange(measured.shape[1]), measured.shape)[seen]
    plays = 0
    known: dict[bytes, Array] = {}

    def left(x: Array) -> Array:
        """Log less model, shape (n,) of what was read; the last one is kept, as it is asked for twice."""
        nonlocal plays
        if x.tobytes() not in known:
            plays += 1
            if progress is not None:
                progress(plays)
            known.clear()
            played = play(dict(zip(names, np.clip(x, low, high).tolist(), strict=True)))
            known[x.tobytes()] = (measured - played)[seen]
        return known[x.tobytes()]

    def slopes(x: Array) -> Array:
        """Derivatives of that, shape (n, k)."""
        here, made = left(x), []
        for at in range(len(x)):
            step = max(STEP * abs(x[at]), LEAST_STEP * span[at])
            moved = x.copy()
            moved[at] += step if x[at] + step <= high[at] else -step
            made.append((left(moved) - here) / (moved[at] - x[at]))
        known[x.tobytes()] = here
        return np.stack(made, axis=-1)

    given = [begin.get(one.name, one.default) for one in free]
    x = np.clip(given, low + AT_BOUND * span, high - AT_BOUND * span)
    weights = np.ones(measured.shape[1])
    for _ in range(WEIGHINGS):
        by = weights[column]

        def weighted(at: Array, by: Array = by) -> Array:
            return left(at) / by

        def jacobian(at: Array, by: Array = by) -> Array:
            return np.asarray(slopes(at) / by[:, None])

        result = least_squares(
            weighted, x, jac=jacobian, bounds=(low, high), x_scale=span,
            max_nfev=EVALUATIONS, ftol=1e-5, xtol=1e-4,
        )  # fmt: skip
        x = result.x
        residuals = np.full(measured.shape, np.nan)
        residuals[seen] = left(x)
        weights = _weights(residuals)
        if np.allclose(weights[column], by, rtol=0.05):
            break
    covariance = _covariance(np.asarray(result.jac) * (by / weights[column])[:, None], span)
    sigma = np.sqrt(np.diag(covariance))
    pairs = np.argwhere(np.triu(np.abs(covariance) > TRADE * np.outer(sigma, sigma), 1)).tolist()
    traded = {at for pair in pairs for at in pair}
    half = float(student.ppf(0.975, max(1.0, _independent(residuals) - len(free)))) * sigma
    half[sorted(traded)] = np.inf
    ends = zip(np.maximum(x - half, low).tolist(), np.minimum(x + half, high).tolist(), strict=True)
    at_low, at_high = x - low < AT_BOUND * span, high - x < AT_BOUND * span
    at_bound, x = at_low | at_high, np.where(at_low, low, np.where(at_high, high, x))
    return Fitted(
        values=dict(zip(names, x.tolist(), strict=True)),
        intervals=dict(zip(names, (Interval(*pair) for pair in ends), strict=True)),
        at_bound=tuple(name for name, there in zip(names, at_bound, strict=True) if there),
        together=tuple((names[one], names[other]) for one, other in pairs),
        residuals=residuals,
        scatter=tuple(float(np.sqrt(np.nanmean(column**2))) for column in residuals.T),
        plays=plays,
    )


def _columns(residuals: Array) -> list[Array]:
    return [column[np.isfinite(column)] for column in residuals.T]


def _weights(residuals: Array) -> Array:
    """Scatter of each column, as large as if only independent readings counted. [K]"""
    return np.array(
        [
            max(FLOOR, float(np.sqrt(np.mean(column**2)))) * np.sqrt(correlation_rows(column))
            for column in _columns(residuals)
        ]
    )


def _independent(residuals: Array) -> float:
    """How many independent readings there are."""
    return sum(len(column) / correlation_rows(column) for column in _columns(residuals))


def _covariance(slopes: Array, span: Array) -> Array:
    """Of the estimates; a parameter that the readings do not depend on gets the square of its range."""
    return np.asarray(np.linalg.inv(slopes.T @ slopes + np.diag(1.0 / span**2)))
