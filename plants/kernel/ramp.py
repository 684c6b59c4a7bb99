"""Faults whose sizes grow from nothing, or fade to nothing, evenly over a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from plants.kernel.describe import FaultSize

STEPS, SHORTEST_MS = 60, 100
"""A ramp goes in so many equal steps, none shorter than this."""


@dataclass(frozen=True)
class Ramp:
    """From one share of the full sizes to another in `over_ms`; `event` is the next step, in the queue."""

    start_ms: int
    over_ms: int
    begin: float
    end: float
    event: int = 0

    def share(self, now_ms: int) -> float:
        """Share of the full sizes at a time."""
        passed = min(max((now_ms - self.start_ms) / self.over_ms, 0.0), 1.0) if self.over_ms else 1.0
        return self.begin + (self.end - self.begin) * passed

    def over(self, now_ms: int) -> bool:
        """Whether it has come to its end."""
        return now_ms >= self.start_ms + self.over_ms

    def wait_ms(self, now_ms: int) -> int:
        """From now to the next step."""
        step = max(SHORTEST_MS, -(-self.over_ms // STEPS))
        return min(step, self.start_ms + self.over_ms - now_ms)


def at_share(sizes: Sequence[FaultSize], full: Mapping[str, float], share: float) -> dict[str, float]:
    """The sizes at a share of their full effect; those that cannot ramp are whole."""
    nothing = {size.name: size.nothing for size in sizes}
    return {name: _between(nothing[name], value, share) for name, value in full.items()}


def _between(nothing: float | None, full: float, share: float) -> float:
    return full if nothing is None or share == 1.0 else nothing + share * (full - nothing)
