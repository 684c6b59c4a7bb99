"""All methods on one record, side by side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from harness.calibration.identify import area as areas
from harness.calibration.identify import tangent as tangents
from harness.calibration.identify import two_point as two_points
from harness.calibration.identify.least_squares import METHOD
from harness.calibration.identify.step_shape import full_step, small_step
from harness.calibration.identify.told import Told
from harness.calibration.process import FirstOrder, Process
from harness.calibration.record import HeatRecord
from harness.calibration.step_test.procedure import Procedure
from harness.quantity import beyond

_TANGENT_WINDOW_S = 60.0
_TOLD = 8.0
"""The rise under full heat must be as many times the scatter."""


@dataclass(frozen=True)
class MethodResult:
    """What one method finds: a process, or why it finds none.

    Attributes
    ----------
    name, source : the method and where it was published.
    process : None where it cannot be told; `note` says why then, or on what it leans.
    """

    name: str
    source: str
    process: Process | None
    note: str


def compare(record: HeatRecord, procedure: Procedure, found: Told) -> list[MethodResult]:
    """Tangent, two-point, area and least squares."""
    fitted = found.first_order.process if found.first_order else found.integrating.process
    results = [MethodResult(METHOD, "see harness/calibration/README.md", fitted, "all rows, heat as applied")]
    final = fitted.gain if isinstance(fitted, FirstOrder) else None
    results.append(_try("tangent", tangents.SOURCE, lambda: _tangent(record, procedure, found, final)))
    for name, source, method in (
        ("two-point", two_points.SOURCE, _two_point), ("area", areas.SOURCE, _area),
    ):  # fmt: skip
        if isinstance(fitted, FirstOrder):
            on = partial(_on_shape, method, record, procedure, found, fitted)
            results.append(_try(name, source, on))
        else:
            results.append(MethodResult(name, source, None, "needs an end, and none is in sight"))
    return results


def _try(name: str, source: str, method: Callable[[], tuple[Process, str]]) -> MethodResult:
    try:
        process, note = method()
    except ValueError as error:
        return MethodResult(name, source, None, str(error))
    return MethodResult(name, source, process, note)


def _on_shape(
    method: Callable[[_Shape], tuple[Process, str]],
    record: HeatRecord,
    procedure: Procedure,
    found: Told,
    fitted: FirstOrder,
) -> tuple[Process, str]:
    return method(_Shape(record, procedure, found, fitted))


def _tangent(
    record: HeatRecord, procedure: Procedure, found: Told, final: float | None
) -> tuple[Process, str]:
    time_s, rise = full_step(record, procedure, found.fit)
    if len(rise) < 3 or not rise[-len(rise) // 10 :].mean() > _TOLD * found.fit.rms:
        raise ValueError("full heat lifts the reading by too little beside its scatter")
    seen = tangents.tangent(time_s, rise, _TANGENT_WINDOW_S)
    if final is None:
        return seen, "on full heat"
    return FirstOrder(final, seen.dead_time_s, final / seen.slope), "on full heat; gain of least squares"


@dataclass
class _Shape:
    """The response to the small duty, up to where it came; too little of it is a ValueError."""

    record: HeatRecord
    procedure: Procedure
    found: Told
    fitted: FirstOrder

    def __post_init__(self) -> None:
        self.time_s, self.rise = small_step(self.record, self.procedure, self.found.fit)
        self.final = self.fitted.gain
        self.reached = float(np.mean(self.rise[-max(1, len(self.rise) // 50) :]))
        share = self.reached / self.final
        if share < two_points.UPPER:
            needed = 100.0 * two_points.UPPER
            came = beyond(100.0 * share, needed)
            raise ValueError(f"the response came to {came} % of its end; {needed:g} % are needed")
        self.note = f"on the small duty, which came to {100.0 * share:.0f} % of the end of least squares"


def _two_point(shape: _Shape) -> tuple[Process, str]:
    return two_points.two_point(shape.time_s, shape.rise, shape.final), shape.note


def _area(shape: _Shape) -> tuple[Process, str]:
    rest = (shape.final - shape.reached) * shape.fitted.time_constant_s
    return areas.area(shape.time_s, shape.rise, shape.final, rest), shape.note
