"""How a plant describes itself, and the check of a person's set-up against that."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite


@dataclass(frozen=True)
class Signal:
    """A true value of the plant. `switched`: it jumps and holds instead of moving steadily."""

    name: str
    unit: str
    about: str
    switched: bool = False


@dataclass(frozen=True)
class Parameter:
    """A figure a person may set, in `unit`, from `low` to `high`; `source` says whence the default."""

    name: str
    unit: str
    default: float
    low: float
    high: float
    source: str
    about: str


@dataclass(frozen=True)
class Choice:
    """A word a person may set, one of `options`; the first is the default."""

    name: str
    options: tuple[str, ...]
    source: str
    about: str

    @property
    def default(self) -> str:
        """What holds where nothing is set."""
        return self.options[0]


@dataclass(frozen=True)
class Probe:
    """A point a controller can read, and the units it can be read in."""

    name: str
    about: str
    units: tuple[str, ...]


@dataclass(frozen=True)
class Actuator:
    """What a controller drives: `bool` (0 or 1) or `permille` (0 to 1000)."""

    name: str
    unit: str
    about: str


@dataclass(frozen=True)
class FaultSize:
    """One size of a fault. `nothing`: the value at which it has no effect, from which a ramp begins."""

    name: str
    unit: str
    default: float
    low: float
    high: float
    about: str
    nothing: float | None = None


@dataclass(frozen=True)
class Fault:
    """What can go wrong. `places` is empty where no place is needed; `hazard` says what it rehearses.

    One that `lurks` has no effect by itself: it waits for something to act on, a flame to put out, a valve
    that is told to move. Its part says when it has acted.

    `actuators` are those behind which it sits, one for each place, or one; with nothing that drives it such a
    fault shows nothing. `probes` says that its places are probes.
    """

    kind: str
    places: tuple[str, ...]
    sizes: tuple[FaultSize, ...]
    about: str
    hazard: str
    lurks: bool = False
    actuators: tuple[str, ...] = ()
    probes: bool = False

    def actuator(self, place: str | None) -> str:
        """The actuator behind which it sits at a place; empty if there is none."""
        if len(self.actuators) > 1 and place is not None:
            return self.actuators[self.places.index(place)]
        return self.actuators[0] if self.actuators else ""

    @property
    def ramps(self) -> bool:
        """Whether it has a size that can grow from nothing."""
        return any(size.nothing is not None for size in self.sizes)


def unknown(where: str, what: str, name: str, known: Iterable[str]) -> ValueError:
    """The error for a name that does not exist; it offers the nearest one."""
    names = sorted(known)
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
    mend = f'Did you mean "{near[0]}"?' if near else f"Known: {', '.join(names) or 'none'}."
    return ValueError(f'{where}: there is no {what} "{name}". {mend}')


def complete(
    where: str,
    what: str,
    wanted: Sequence[Parameter] | Sequence[FaultSize],
    given: Mapping[str, float | str],
    others: Sequence[str] = (),
) -> dict[str, float]:
    """`given` filled up with defaults; the names `others` are left to somebody else.

    Raises
    ------
    ValueError
        If a name is unknown (the message offers the nearest) or a value is not in its range.
    """
    by_name = {item.name: item for item in wanted}
    values = {item.name: item.default for item in wanted}
    for name, value in given.items():
        if name in others:
            continue
        item = by_name.get(name)
        if item is None:
            raise unknown(where, what, name, [*by_name, *others])
        if isinstance(value, str):
            raise ValueError(f'{where}: {name} = "{value}" is no figure. Give one in {item.unit}.')
        if not (isfinite(value) and item.low <= value <= item.high):
            raise ValueError(
                f"{where}: {name} = {value:g} {item.unit} is out of range. "
                f"Use {item.low:g} to {item.high:g} {item.unit}."
            )
        values[name] = float(value)
    return values


def chosen(where: str, choices: Sequence[Choice], given: Mapping[str, float | str]) -> dict[str, str]:
    """The choices among `given`, filled up with defaults.

    Raises
    ------
    ValueError
        If a choice is none of its options (the message offers the nearest).
    """
    values = {}
    for choice in choices:
        value = given.get(choice.name, choice.default)
        if value not in choice.options:
            raise unknown(where, choice.name, str(value), choice.options)
        values[choice.name] = str(value)
    return values


def spelled(units: Sequence[str]) -> str:
    """Units for a message; the converters of 8 to 24 bits as a range."""
    words = [unit for unit in units if not unit.startswith("adc")]
    return " or ".join(words + (["adc8 to adc24"] if len(words) < len(units) else []))
