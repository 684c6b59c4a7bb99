"""By how much a margin or a figure may move before it is told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from harness.quantity import UNITS, Quantity

SHARE = 0.10
"""Of the margin. A tenth is more than what rounding and the order of two switchings do to it, and a margin
that shrinks by it at each change is halved after seven."""

DEGREES_K = 0.1
"""Temperatures are told no finer: about what common probes resolve. Common practice, no source."""

DEGREES = ("temperature", "temperature difference")


@dataclass(frozen=True)
class Tolerance:
    """A share of the margin, or a quantity for margins of its kind.

    Attributes
    ----------
    share : of the greater of both margins; 0.1 is 10 %.
    absolute : the dimension of a margin's unit (`time`, `temperature difference`, ...) to a quantity that
        stands in place of the share.
    """

    share: float = SHARE
    absolute: Mapping[str, Quantity] = field(default_factory=dict)

    def allowed(self, size: float, unit: str, exchange_ms: int) -> float:
        """How far a figure of that size and unit may move, in its unit; more is told.

        A share is never finer than what can be told: one exchange for a time, `DEGREES_K` for a temperature.
        """
        dimension = dimension_of(unit)
        if dimension in self.absolute:
            return self.absolute[dimension].to("K" if unit == "degC" else unit)
        finest = 0.0
        if dimension == "time":
            finest = Quantity(float(exchange_ms), "ms").to(unit)
        elif dimension in DEGREES:
            finest = DEGREES_K
        return max(self.share * abs(size), finest)


def dimension_of(unit: str) -> str:
    """What a recorded unit measures, degrees as a difference; empty where no quantity can be given in it."""
    found = UNITS.get(unit)
    if found is None:
        return ""
    return DEGREES[1] if found.dimension in DEGREES else found.dimension
