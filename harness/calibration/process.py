"""A heated process in two or three figures, as tuning rules want it, and what is known of those figures.

Heat is counted as duty, 0 to 1 of the full heat; temperatures as differences from where they stood.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True)
class FirstOrder:
    """First order with dead time: G(s) = gain exp(-dead_time s) / (time_constant s + 1).

    Attributes
    ----------
    gain : final rise for full heat; not 0, negative where the actuator cools. [K per unit duty]
    dead_time_s : from the change of heat until the temperature moves; 0 or more. [s]
    time_constant_s : from then until 63.2 % of the rise; more than 0. [s]

    Raises
    ------
    ValueError
        If a figure is out of its range or not finite.

    Examples
    --------
    >>> float(FirstOrder(gain=40.0, dead_time_s=20.0, time_constant_s=100.0).step_response(120.0).round(3))
    25.285
    """

    gain: float
    dead_time_s: float
    time_constant_s: float

    def __post_init__(self) -> None:
        _check(self.gain != 0.0, "gain", self.gain, "other than 0")
        _check(self.dead_time_s >= 0.0, "dead_time_s", self.dead_time_s, "0 or more")
        _check(self.time_constant_s > 0.0, "time_constant_s", self.time_constant_s, "more than 0")

    @property
    def slope(self) -> float:
        """The steepest rise for full heat. [K/s per unit duty]"""
        return self.gain / self.time_constant_s

    def step_response(self, time_s: ArrayLike) -> NDArray[np.float64]:
        """The rise at `time_s` after full heat came on; the shape of `time_s`. [K]"""
        since = np.maximum(np.asarray(time_s, np.float64) - self.dead_time_s, 0.0)
        return np.asarray(-self.gain * np.expm1(-since / self.time_constant_s))


@dataclass(frozen=True)
class Integrating:
    """Integrating with dead time, for small losses: G(s) = slope exp(-dead_time s) / s.

    Attributes
    ----------
    slope : rise in time under full heat; not 0. [K/s per unit duty]
    dead_time_s : from the change of heat until the temperature moves; 0 or more. [s]

    Raises
    ------
    ValueError
        If a figure is out of its range or not finite.

    Examples
    --------
    >>> float(Integrating(slope=0.02, dead_time_s=30.0).step_response(130.0))
    2.0
    """

    slope: float
    dead_time_s: float

    def __post_init__(self) -> None:
        _check(self.slope != 0.0, "slope", self.slope, "other than 0")
        _check(self.dead_time_s >= 0.0, "dead_time_s", self.dead_time_s, "0 or more")

    def step_response(self, time_s: ArrayLike) -> NDArray[np.float64]:
        """The rise at `time_s` after full heat came on; the shape of `time_s`. [K]"""
        return np.asarray(self.slope * np.maximum(np.asarray(time_s, np.float64) - self.dead_time_s, 0.0))


Process = FirstOrder | Integrating


@dataclass(frozen=True)
class Interval:
    """Where a figure lies in 95 of 100 such tests; an end may be infinite where nothing bounds it."""

    low: float
    high: float

    def __contains__(self, value: float) -> bool:
        return self.low <= value <= self.high


@dataclass(frozen=True)
class Estimate:
    """A process that was found, and how well.

    Attributes
    ----------
    process : the figures.
    method : how they were found.
    intervals : 95 % interval by the figure's name; empty for a method that gives none.
    notes : what speaks against believing it, a sentence each.
    """

    process: Process
    method: str
    intervals: Mapping[str, Interval]
    notes: tuple[str, ...] = ()

    def figures(self) -> dict[str, tuple[float, Interval | None]]:
        """Value and interval of each figure by name, in the order of the process."""
        return {name: (value, self.intervals.get(name)) for name, value in asdict(self.process).items()}


def _check(fits: bool, name: str, value: float, rule: str) -> None:
    if not (fits and np.isfinite(value)):
        raise ValueError(f"{name} = {value:g} is out of range. Give a finite number {rule}.")
