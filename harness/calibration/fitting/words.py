"""What a log cannot tell, in plain words, and what log would."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from harness.calibration.fitting.log import RigLog
from harness.calibration.fitting.solve import Fitted
from harness.calibration.process import Interval

LOOSE = 0.3
"""Half an interval that is a larger share of the value than this is told of."""
SLOW, SHORT_S = 5.0, 1_800.0
"""A model that is further off than this many times the scatter from row to row follows badly. A log shorter
than half an hour shows no losses: common practice, no source."""


def doubts(log: RigLog, fitted: Fitted) -> Iterator[str]:
    """What a person should not believe, one sentence each."""
    for one, other in fitted.together:
        yield (
            f"{one} and {other} trade against each other: this log fits as well with more of both or less. "
            f"Measure one of them and give it with --setup."
        )
    traded = {name for pair in fitted.together for name in pair}
    for name, value in fitted.values.items():
        if name in fitted.at_bound:
            yield f"{name} ended at an end of its range: something else does not fit. See the residuals."
        elif name not in traded and _loose(value, fitted.intervals[name]):
            low, high = fitted.intervals[name].low, fitted.intervals[name].high
            yield f"{name} is hardly told: {low:.3g} to {high:.3g}. {_mend(name)}"
    if not (log.heat > 0.0).any():
        yield "the heat was never on: nothing about it can be told."
    if log.time_s[-1] < SHORT_S:
        yield f"the log lasts {log.time_s[-1] / 60.0:.3g} min; losses want half an hour or more."


def _loose(value: float, interval: Interval) -> bool:
    return interval.high - interval.low > 2.0 * LOOSE * max(abs(value), 1e-9)


_MENDS: Mapping[str, str] = {
    "loss": "An hour without heat, warm, would tell it.",
    "exchange": "A step of the heat, read every few seconds, would tell it.",
    "heat": "A step of the heat, read every few seconds, would tell it.",
    "ua": "Readings on both sides of the coil would tell it.",
    "lag": "Readings every second through a sudden change would tell it.",
    "efficiency": "A stretch of full heat would tell it.",
    "power": "A stretch of full heat would tell it.",
}


def _mend(name: str) -> str:
    return _MENDS.get(name.rsplit("_", 1)[-1], "Leave it at what is known with --setup, or log longer.")


def follows_badly(names: Sequence[str], fitted: Fitted) -> Iterator[str]:
    """Columns whose residuals are far more than the readings' own scatter: the model is not this rig."""
    for at, column in enumerate(fitted.residuals.T):
        seen = column[np.isfinite(column)]
        own = float(np.std(np.diff(seen))) / 2.0**0.5
        if fitted.scatter[at] > max(SLOW * own, 0.2):
            yield (
                f"{names[at]}: the model is off by {fitted.scatter[at]:.2g} K (root mean square) where "
                f"readings scatter by {own:.2g} K: it lacks something that this rig has, or a figure given "
                "with --setup is wrong."
            )
