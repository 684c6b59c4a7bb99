"""A first-order process with dead time fitted to a whole record, with the heat as it was applied.

All rows of all phases count. With b the steepest rise, a the loss rate, L the dead time and c the temperature
without heat (see `driven`), the sum of squares of

    reading - c - response(b, a, L)

is made least. That form stays well posed when losses are too small to be told, where gain = b / a and
time constant = 1 / a run away together; an interval of a that reaches 0 is one of the time constant without
an upper end. Source of the method: any textbook of output-error identification, such as Ljung 1999, System
Identification, 2nd ed., sections 4.2 and 9.4 (from memory).

Intervals: the usual covariance of a nonlinear least-squares fit (Bates and Watts 1988, Nonlinear Regression
Analysis, section 2.3) times the number of rows that one independent reading takes (`correlation`), with
Student's t for the readings that are left; with the second derivatives as they are in place of J^T J, and no
narrower than a sandwich estimate. The interval of the gain is that of a ratio (Fieller 1954, J. R. Stat. Soc.
B 16:175-185). Sources from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt

import numpy as np

from harness.calibration.identify.correlation import correlation_rows
from harness.calibration.identify.driven import driven_response
from harness.calibration.process import Estimate, FirstOrder, Integrating, Interval
from harness.calibration.record import Array, HeatRecord

METHOD = "least squares"
_COARSE_ROWS = 600
_DEADS = np.array([0.0, 2.0, 5.0, 10.0, 20.0, 40.0, 80.0, 160.0, 320.0, 640.0, 1280.0])
_LOSSES = np.array([-1e-5, 1e-6, 1e-5, 3e-5, 1e-4, 3e-4, 1e-3, 3e-3, 1e-2, 3e-2])
_STEPS = 40
_FLATTEST = 0.02
"""Second derivatives that leave less of the least curvature of J^T J are taken for rounding."""
_SPREAD = np.array([-0.375, -0.125, 0.125, 0.375])
_BLOCK, _LEAST_BLOCKS = 5.0, 20
_SETTLED = 1e-7


class UntellableError(ValueError):
    """The record does not hold what a fit needs; the message says what is missing."""


@dataclass(frozen=True)
class Fit:
    """What least squares found.

    Attributes
    ----------
    slope, loss, dead_s, start : b [K/s], a [1/s], L [s], c [degC].
    covariance : of these four, shape (4, 4).
    freedom : independent readings less the four figures; 1 at least.
    rms : of what is left, [K].
    predicted : the fitted temperature, shape (n,). [degC]
    """

    slope: float
    loss: float
    dead_s: float
    start: float
    covariance: Array
    freedom: float
    rms: float
    predicted: Array

    def first_order(self) -> Estimate | None:
        """As a first-order process; None where the found loss is not above 0."""
        if self.loss <= 0.0:
            return None
        t = self._student()
        a, sigma = self.loss, sqrt(self.covariance[1, 1])
        constant = Interval(1.0 / (a + t * sigma), 1.0 / (a - t * sigma) if a > t * sigma else inf)
        intervals = {"gain": self._gain(t), "dead_time_s": self._dead(t), "time_constant_s": constant}
        return Estimate(FirstOrder(self.slope / a, self.dead_s, 1.0 / a), METHOD, intervals)

    def integrating(self) -> Estimate:
        """As an integrating process: its slope and dead time, whatever the losses."""
        t = self._student()
        half = t * sqrt(self.covariance[0, 0])
        slope = Interval(self.slope - half, self.slope + half)
        found = Integrating(self.slope, self.dead_s)
        return Estimate(found, METHOD, {"slope": slope, "dead_time_s": self._dead(t)})

    @property
    def losses_told(self) -> bool:
        """Whether the record tells losses from none."""
        return self.loss > self._student() * sqrt(self.covariance[1, 1])

    def _student(self) -> float:
        from scipy.special import stdtrit

        return float(stdtrit(self.freedom, 0.975))

    def _dead(self, t: float) -> Interval:
        half = t * sqrt(self.covariance[2, 2])
        return Interval(max(0.0, self.dead_s - half), self.dead_s + half)

    def _gain(self, t: float) -> Interval:
        """Fieller's interval of b / a: all k for which b - k a is not told from 0."""
        b, a = self.slope, self.loss
        vb, va, cab = (self.covariance[i, j] * t * t for i, j in ((0, 0), (1, 1), (0, 1)))
        lead, half, tail = a * a - va, a * b - cab, b * b - vb
        root = half * half - lead * tail
        if root < 0.0:
            return Interval(-inf, inf)
        if lead > 0.0:
            ends = sorted((half + sign * sqrt(root)) / lead for sign in (1.0, -1.0))
            return Interval(ends[0], ends[1])
        ends = (
            sorted((half + sign * sqrt(root)) / lead for sign in (1.0, -1.0)) if lead else [tail / half / 2]
        )
        near = [end for end in ends if end * b > 0.0]
        if tail <= 0.0 or not near:
            return Interval(-inf, inf)
        return Interval(min(near), inf) if b > 0.0 else Interval(-inf, max(near))


def fit(record: HeatRecord, near: Fit | None = None) -> Fit:
    """The least-squares fit to a whole record; rows without a reading are left out.

    `near` is an earlier fit to begin from, such as that of the same record when it was shorter.

    Raises
    ------
    UntellableError
        If the heat never changes, fewer than 8 rows hold a reading, or nothing moves with the heat.
    """
    problem = _Problem(record)
    begin = problem.coarse() if near is None else _Figures(near.slope, near.loss, near.dead_s, near.start)
    figures = problem.refine(begin)
    residuals, jacobian = problem.at(figures)
    normal = jacobian.T @ jacobian
    scale = np.sqrt(np.diag(normal))
    if not (scale > 0.0).all() or not np.isfinite(scale).all():
        raise UntellableError("the temperature does not follow the heat. Which probe, which actuator?")
    inverse = problem.inverse_curvature(figures, normal)
    rows = len(residuals)
    worth = correlation_rows(residuals)
    rms = sqrt(float(residuals @ residuals) / max(rows - 4, 1))
    covariance = rms * rms * worth * inverse @ normal @ inverse
    covariance = _widened(covariance, inverse, jacobian * residuals[:, None], worth)
    everywhere = figures.predict(record, record.time_s)
    return Fit(
        slope=figures.slope, loss=figures.loss, dead_s=figures.dead_s, start=figures.start,
        covariance=covariance, freedom=max(rows / worth - 4.0, 1.0),
        rms=rms, predicted=everywhere,
    )  # fmt: skip


def _widened(covariance: Array, inverse: Array, scores: Array, worth: float) -> Array:
    """The covariance, no smaller for any figure than where residuals are large while it matters.

    What a plant does otherwise than the model shows just when the heat changes, where the dead time is read.
    The sandwich estimate with sums over blocks of rows sees that (White 1982, Econometrica 50:1-25; blocks as
    in batch means).
    """
    rows = len(scores)
    block = int(min(max(1.0, _BLOCK * worth), max(1, rows // _LEAST_BLOCKS)))
    blocks = rows // block
    sums = scores[: blocks * block].reshape(blocks, block, -1).sum(axis=1)
    sums = sums - sums.mean(axis=0)
    robust = inverse @ (sums.T @ sums) @ inverse * (blocks / max(blocks - 4, 1))
    wider = np.sqrt(np.maximum(1.0, np.diag(robust) / np.maximum(np.diag(covariance), 1e-300)))
    return np.asarray(covariance * np.outer(wider, wider))


@dataclass(frozen=True)
class _Figures:
    slope: float
    loss: float
    dead_s: float
    start: float

    def predict(self, record: HeatRecord, time_s: Array) -> Array:
        changes_s, heat = record.changes
        rise = driven_response(time_s, changes_s, heat, self.slope, self.loss, self.dead_s)
        return self.start + rise


def _spread(changes_s: Array, heat: Array, over_s: float) -> tuple[Array, Array]:
    """Each change of heat in small steps around its time, over one interval between two readings.

    All pulses begin at whole readings: were they sharp, the sum of squares would have a dent for every
    reading that their kinks pass together as the dead time grows, and a search would stop in one of them.
    """
    steps = np.diff(heat, prepend=0.0)
    at = (changes_s[:, None] + over_s * _SPREAD[None, :]).ravel()
    rank = np.argsort(at, kind="stable")
    share = np.repeat(steps / len(_SPREAD), len(_SPREAD))
    return at[rank], np.cumsum(share[rank])


class _Problem:
    """The rows that hold a reading, and the search."""

    def __init__(self, record: HeatRecord) -> None:
        seen = np.isfinite(record.temperature)
        changes_s, heat = record.changes
        self._time_s, self._reading = record.time_s[seen], record.temperature[seen]
        if len(changes_s) < 2:
            raise UntellableError("the heat never changes. A record needs a time without and one with heat.")
        if len(self._time_s) < 8:
            raise UntellableError(f"{len(self._time_s)} rows hold a reading; 8 are needed at least.")
        self._span_s = float(record.time_s[-1] - record.time_s[0])
        self._every_s = float(np.median(np.diff(record.time_s)))
        self._changes_s, self._heat = _spread(changes_s, heat, self._every_s)

    def _unit(self, time_s: Array, loss: float, dead_s: float) -> Array:
        return driven_response(time_s, self._changes_s, self._heat, 1.0, loss, dead_s)

    def _best_line(self, shape: Array, reading: Array) -> tuple[float, float, float]:
        """Slope and start that suit a shape best, and the sum of squares that is left."""
        mean, middle = shape.mean(), reading.mean()
        spread = shape - mean
        power = float(spread @ spread)
        slope = float(spread @ (reading - middle)) / power if power > 0.0 else 0.0
        start = float(middle - slope * mean)
        left = reading - start - slope * shape
        return slope, start, float(left @ left)

    def coarse(self) -> _Figures:
        """The best of a grid of losses and dead times, on some of the rows."""
        rows = np.unique(np.linspace(0, len(self._time_s) - 1, _COARSE_ROWS).astype(int))
        time_s, reading = self._time_s[rows], self._reading[rows]
        best, least = _Figures(0.0, 0.0, 0.0, 0.0), inf
        for dead_s in _DEADS[self._span_s > 2.0 * _DEADS]:
            for loss in _LOSSES[np.abs(_LOSSES) * self._span_s < 200.0]:
                slope, start, left = self._best_line(self._unit(time_s, loss, dead_s), reading)
                if left < least:
                    best, least = _Figures(slope, float(loss), float(dead_s), start), left
        return best

    def at(self, figures: _Figures) -> tuple[Array, Array]:
        """Residuals, and the derivatives of the prediction by the four figures, shape (n, 4)."""
        shape = self._unit(self._time_s, figures.loss, figures.dead_s)
        by = [shape]
        loss_step, dead_step = 1e-4 * max(abs(figures.loss), 1.0 / self._span_s), 0.01
        for d_loss, d_dead in ((loss_step, 0.0), (0.0, dead_step)):
            ahead = self._unit(self._time_s, figures.loss + d_loss, figures.dead_s + d_dead)
            behind = self._unit(self._time_s, figures.loss - d_loss, figures.dead_s - d_dead)
            by.append(figures.slope * (ahead - behind) / (2.0 * (d_loss + d_dead)))
        by.append(np.ones_like(shape))
        return self._reading - figures.start - figures.slope * shape, np.column_stack(by)

    def inverse_curvature(self, figures: _Figures, normal: Array) -> Array:
        """Inverse of half the second derivatives of the sum of squares; `normal` is J^T J.

        J^T J alone takes the residuals for chance. Where a plant rounds off the kinks of the model, they are
        of one sign at each change of heat, and the sum of squares is flatter in the dead time than J^T J.
        """
        scale = np.sqrt(np.diag(normal))
        curvature = normal.copy()  # the model is linear in slope and start
        for column, step in ((1, 1e-3 * max(abs(figures.loss), 1.0 / self._span_s)), (2, self._every_s)):
            pulls = []
            for sign in (1.0, -1.0):
                moved = np.array([figures.slope, figures.loss, figures.dead_s, figures.start])
                moved[column] += sign * step
                residuals, jacobian = self.at(_Figures(*moved.tolist()))
                pulls.append(jacobian.T @ residuals)
            curvature[:, column] = curvature[column, :] = (pulls[1] - pulls[0]) / (2.0 * step)
        whole = curvature / np.outer(scale, scale)
        if np.linalg.eigvalsh(whole)[0] < _FLATTEST * np.linalg.eigvalsh(normal / np.outer(scale, scale))[0]:
            whole = normal / np.outer(scale, scale)
        return np.asarray(np.linalg.pinv(whole) / np.outer(scale, scale))

    def refine(self, figures: _Figures) -> _Figures:
        """Levenberg's damped steps from there; the dead time stays at 0 or above."""
        damping = 1e-3
        residuals, jacobian = self.at(figures)
        left = float(residuals @ residuals)
        for _ in range(_STEPS):
            normal, pull = jacobian.T @ jacobian, jacobian.T @ residuals
            held = [0, 1, 3] if figures.dead_s <= 0.0 and pull[2] < 0.0 else [0, 1, 2, 3]
            moved = self._step(figures, normal, pull, damping, held)
            residuals_there, jacobian_there = self.at(moved)
            there = float(residuals_there @ residuals_there)
            if not there < left:
                damping *= 8.0
                if damping > 1e8:
                    break
                continue
            gone = (left - there) / left if left > 0.0 else 0.0
            figures, residuals, jacobian, left = moved, residuals_there, jacobian_there, there
            damping = max(damping / 8.0, 1e-12)
            if gone < _SETTLED:
                break
        return figures

    @staticmethod
    def _step(figures: _Figures, normal: Array, pull: Array, damping: float, held: list[int]) -> _Figures:
        part = normal[np.ix_(held, held)]
        scale = np.sqrt(np.maximum(np.diag(part), 1e-300))
        system = part / np.outer(scale, scale) + damping * np.eye(len(held))
        step = np.zeros(4)
        step[held] = np.linalg.solve(system, pull[held] / scale) / scale
        return _Figures(
            figures.slope + float(step[0]), figures.loss + float(step[1]),
            max(0.0, figures.dead_s + float(step[2])), figures.start + float(step[3]),
        )  # fmt: skip
