"""The open-loop procedure: how long each phase is, and what heat is asked for at any time.

Settle without heat, so that the start is known; full heat, which shows the dead time; settle again; then a
small steady duty, in pulses of a fixed cycle, until gain and time constant can be told. Common practice at a
live burner, no source; the figures are those of the firmware's own routine.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

LONGEST_MS = 24 * 3_600_000


@dataclass(frozen=True)
class Procedure:
    """The phases of a step test; all times in milliseconds of bench time.

    Attributes
    ----------
    settle_ms, full_ms, settle_again_ms : the first three phases.
    duty, cycle_ms : of the fourth: heat for `duty` of each cycle.
    longest_ms : of the whole test.
    shortest_small_ms : the small duty lasts as long at least.
    precision : the test is over when the 95 % intervals of gain and time constant are within this share of
        the figures to either side.
    every_ms : between two readings.
    limit : no heat at or above this reading, and the test ends. [degC]

    Raises
    ------
    ValueError
        If a figure is out of its range; the message names it.
    """

    settle_ms: int = 300_000
    full_ms: int = 360_000
    settle_again_ms: int = 300_000
    duty: float = 0.2
    cycle_ms: int = 30_000
    longest_ms: int = 4 * 3_600_000
    shortest_small_ms: int = 3_600_000
    precision: float = 0.05
    every_ms: int = 1_000
    limit: float = 95.0

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if field.name.endswith("_ms") and not 0 <= value <= LONGEST_MS:
                raise ValueError(f"{field.name} = {value} is out of range. Give 0 to {LONGEST_MS} ms.")
        for name, low, high in (
            ("duty", 0.01, 1.0), ("precision", 0.001, 1.0), ("cycle_ms", 1_000, 600_000),
            ("every_ms", 50, 10_000), ("longest_ms", 60_000, LONGEST_MS),
        ):  # fmt: skip
            value = getattr(self, name)
            if not low <= value <= high:
                raise ValueError(f"{name} = {value:g} is out of range. Give {low:g} to {high:g}.")
        if self.small_from_ms >= self.longest_ms:
            raise ValueError(
                f"the first three phases last {self.small_from_ms / 60_000:g} min, as long as the whole test "
                f"may ({self.longest_ms / 60_000:g} min). Shorten them or allow more."
            )

    @property
    def full_from_ms(self) -> int:
        """When full heat begins."""
        return self.settle_ms

    @property
    def full_until_ms(self) -> int:
        """When full heat ends."""
        return self.settle_ms + self.full_ms

    @property
    def small_from_ms(self) -> int:
        """When the small duty begins."""
        return self.full_until_ms + self.settle_again_ms

    @property
    def pulse_ms(self) -> int:
        """How long the valve opens in each cycle of the small duty."""
        return round(self.duty * self.cycle_ms)

    def wants_heat(self, t_ms: int) -> bool:
        """Whether heat is asked for from `t_ms` on."""
        if t_ms < self.small_from_ms:
            return self.full_from_ms <= t_ms < self.full_until_ms
        return (t_ms - self.small_from_ms) % self.cycle_ms < self.pulse_ms

    def next_change_ms(self, t_ms: int) -> int:
        """The first moment after `t_ms` at which heat may be wanted or not any more."""
        for edge in (self.full_from_ms, self.full_until_ms, self.small_from_ms):
            if t_ms < edge:
                return edge
        since = (t_ms - self.small_from_ms) % self.cycle_ms
        return t_ms - since + (self.pulse_ms if since < self.pulse_ms else self.cycle_ms)

    def phases(self, until_ms: int) -> list[tuple[str, int]]:
        """Name and start of each phase that began before `until_ms`."""
        named = [
            ("settle", 0), ("full heat", self.full_from_ms), ("settle again", self.full_until_ms),
            (f"{100 * self.duty:g} % duty", self.small_from_ms),
        ]  # fmt: skip
        return [(name, start_ms) for name, start_ms in named if start_ms < until_ms]
