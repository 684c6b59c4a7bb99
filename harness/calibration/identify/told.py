"""What a record tells: figures, their intervals, and in words what it cannot tell.

The intervals of a fit know of scatter and of residuals that hang together. They do not know that a plant is
not of first order, or changes as it warms; then the figures wander as the record grows. So the fits to the
first 70 and 85 % of the record are made too, and each interval is carried on by what its figure was off then.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt

from harness.calibration.identify.least_squares import METHOD, Fit, UntellableError, fit
from harness.calibration.process import Estimate, Interval
from harness.calibration.record import HeatRecord
from harness.quantity import beyond

EARLIER = (0.85, 0.7)
_FOLLOWS = 6.0
"""A slope of fewer standard errors is none."""


@dataclass(frozen=True)
class Told:
    """What least squares tells of a record.

    Attributes
    ----------
    fit : to the whole record.
    first_order : gain, dead time and time constant; None where losses are not told from none.
    integrating : slope and dead time, told in any case.
    gain_at_least : the least gain in size that the record allows. [K per unit duty]
    """

    fit: Fit
    first_order: Estimate | None
    integrating: Estimate
    gain_at_least: float

    def within(self, share: float) -> bool:
        """Whether gain and time constant are told within `share` to either side."""
        if self.first_order is None:
            return False
        figures = self.first_order.figures()
        return all(
            interval is not None and interval.high - interval.low <= 2.0 * share * abs(value)
            for value, interval in (figures["gain"], figures["time_constant_s"])
        )


def told(record: HeatRecord, near: Fit | None = None) -> Told:
    """What a record tells; `near` is an earlier fit to begin from.

    Raises
    ------
    UntellableError
        As `least_squares.fit`.
    """
    whole = fit(record, near)
    if not abs(whole.slope) > _FOLLOWS * sqrt(whole.covariance[0, 0]):
        raise UntellableError(
            "the temperature does not follow the heat beyond its scatter. Is it the right probe, does the "
            "heat come, and for long enough?"
        )
    begun, length = record.time_s[0], record.time_s[-1] - record.time_s[0]
    earlier: list[Fit] = []
    for share in EARLIER:
        try:
            earlier.append(fit(record.until(begun + share * length), whole))
        except UntellableError:
            continue
    first = whole.first_order() if whole.losses_told else None
    least = whole.first_order()
    floor = _nearer_0(least.intervals["gain"]) if least else whole.slope * 0.5 * float(length)
    integrating = _carried_on(whole.integrating(), [one.integrating() for one in earlier])
    if first is not None:
        first = _carried_on(first, [one.first_order() for one in earlier])
    return Told(whole, first, integrating, floor)


def _nearer_0(interval: Interval) -> float:
    return min((interval.low, interval.high), key=abs)


def _carried_on(estimate: Estimate, earlier: Sequence[Estimate | None]) -> Estimate:
    intervals = {}
    for name, (value, interval) in estimate.figures().items():
        assert interval is not None
        low, high = interval.low, interval.high
        for one in earlier:
            if one is None:  # the losses were not there yet: gain and time constant had no upper end
                high = inf if name != "dead_time_s" else high
                continue
            off = one.figures()[name][0] - value
            low, high = min(low, interval.low + min(off, 0.0)), max(high, interval.high + max(off, 0.0))
        # Neither time is below 0, whatever an earlier fit was off by.
        intervals[name] = Interval(float(max(low, 0.0) if name.endswith("_s") else low), float(high))
    return Estimate(estimate.process, METHOD, intervals)


FALLS = (
    "the reading falls with the heat. Unless what is switched cools, the start had not settled or it is the "
    "wrong probe, and these figures mean nothing."
)


def words(found: Told, precision: float) -> list[str]:
    """In plain words, what the record does not tell within `precision` to either side."""
    said = [FALLS] if found.fit.slope < 0.0 else []
    if found.first_order is None:
        return [
            *said,
            "losses are too small to be told from none in this time: taken as integrating, with slope and "
            "dead time. Gain and time constant need a longer test.",
        ]
    wide = []
    for name, what in (("gain", "gain"), ("time_constant_s", "time constant")):
        value, interval = found.first_order.figures()[name]
        assert interval is not None
        half = 0.5 * (interval.high - interval.low) / abs(value)
        if half > precision:
            off = beyond(100.0 * half, 100.0 * precision)
            wide.append(f"{what} within {off} %" if half < 10.0 else f"no end to the {what}")
    if wide:
        said.append(f"not told within {100.0 * precision:g} %: {', '.join(wide)}. A longer test tells more.")
    return said
