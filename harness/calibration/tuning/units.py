"""Settings in the units and the form that a firmware takes them in."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from math import inf
from types import MappingProxyType

from harness.calibration.tuning.settings import Settings, parallel, series

DEGREES: Mapping[str, float] = MappingProxyType({"degC": 1.0, "degF": 1.8})
"""Degrees a kelvin."""
DUTIES: Mapping[str, float] = MappingProxyType(
    {"1": 1.0, "%": 100.0, "permille": 1000.0, "0-255": 255.0, "0-1023": 1023.0}
)
"""What full heat is."""
TIMES: Mapping[str, float] = MappingProxyType({"ms": 1000.0, "s": 1.0, "min": 1.0 / 60.0})
"""Units a second."""


class NoSuchFormError(ValueError):
    """These settings cannot be written in that form; the message says why."""


@dataclass(frozen=True)
class Figure:
    """One figure as it is typed into the firmware: `value` is infinite where an action is off."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True)
class FirmwareUnits:
    """How a firmware counts: `degrees`, `duty` and `time` are keys of the tables above, `form` of FORMS."""

    form: str = "ideal"
    degrees: str = "degC"
    duty: str = "%"
    time: str = "s"

    def figures(self, settings: Settings) -> tuple[Figure, ...]:
        """The settings as the firmware takes them.

        Raises
        ------
        NoSuchFormError
            For the series form where Ti < 4 Td, and the band form of settings that cool.
        """
        return tuple(FORMS[self.form](settings, self))

    @property
    def gain_factor(self) -> float:
        """From duty (0 to 1) per kelvin to this firmware's duty per degree."""
        return DUTIES[self.duty] / DEGREES[self.degrees]

    @property
    def per_degree(self) -> str:
        """The unit of a gain."""
        full = self.duty.partition("-")[2]
        return f"of {full} per {self.degrees}" if full else f"{self.duty.removeprefix('1')}/{self.degrees}"


def _times(settings: Settings, units: FirmwareUnits) -> Iterator[Figure]:
    yield Figure("integral time", settings.integral_s * TIMES[units.time], units.time)
    yield Figure("derivative time", settings.derivative_s * TIMES[units.time], units.time)


def _ideal(settings: Settings, units: FirmwareUnits) -> Iterator[Figure]:
    yield Figure("gain", settings.gain * units.gain_factor, units.per_degree)
    yield from _times(settings, units)


def _series(settings: Settings, units: FirmwareUnits) -> Iterator[Figure]:
    made = series(settings)
    if made is None:
        raise NoSuchFormError("the integral time is under four derivative times: it has no series form")
    yield from _ideal(made, units)


def _parallel(settings: Settings, units: FirmwareUnits) -> Iterator[Figure]:
    made, factor, time = parallel(settings), units.gain_factor, TIMES[units.time]
    yield Figure("proportional", made.proportional * factor, units.per_degree)
    yield Figure("integral", made.integral * factor / time, f"{units.per_degree} per {units.time}")
    yield Figure("derivative", made.derivative * factor * time, f"{units.per_degree} times {units.time}")


def _band(settings: Settings, units: FirmwareUnits) -> Iterator[Figure]:
    if settings.gain < 0.0:
        raise NoSuchFormError("a proportional band is of a controller that heats; take another form")
    yield Figure("proportional band", DEGREES[units.degrees] / settings.gain, units.degrees)
    yield from _times(settings, units)


FORMS: Mapping[str, Callable[[Settings, FirmwareUnits], Iterator[Figure]]] = MappingProxyType(
    {"ideal": _ideal, "series": _series, "parallel": _parallel, "band": _band}
)
"""The forms by name; `band`: the ideal one with the error in degrees that asks for full heat."""


def ideal_of(figures: Mapping[str, float], units: FirmwareUnits) -> Settings:
    """Settings that stand in a firmware in the ideal or band form, taken back from its own units."""
    factor = units.gain_factor
    gain = (
        DEGREES[units.degrees] / figures["proportional band"]
        if units.form == "band"
        else figures["gain"] / factor
    )
    integral, derivative = figures.get("integral time", inf), figures.get("derivative time", 0.0)
    return Settings(gain, integral / TIMES[units.time], derivative / TIMES[units.time])
