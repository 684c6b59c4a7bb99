"""Numbers with units, as a person writes them: `152 degF`, `5 gal`, `25 %`.

An own table: loading a general units library costs more than loading everything else a scenario needs.
Two rules keep degrees apart:

- `degC` and `degF` are temperatures. `K` is a temperature *difference*, never a temperature; so are
  `delta_degC` (the same as K) and `delta_degF` (5/9 K).
- A rate such as `degF/min` is a difference per time; `K/min` and `degC/min` are the same.

A text is one number and one unit; the blank between them may be left out (`25%`). Only a time may be put
together, largest part first: `1 h 30 min`, `20 min 5 s`. `°C` and `°F` are other spellings of `degC` and
`degF`. Gallons, quarts and pounds are US customary, the Btu is the
International Table one, inches of water are the conventional ones.
Source of the factors: NIST Special Publication 811 (2008), appendix B.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

LARGEST = 1e12
"""Numbers beyond this are refused as slips of the pen."""

ABSOLUTE_ZERO = -273.15  # degC

_NUMBER = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(\S*)\s*", re.ASCII)


class QuantityError(ValueError):
    """The text is no quantity, or one of another dimension than wanted. The message is for a person."""


_TIME_IN_PARTS = re.compile(
    r"\s*(?:(\d{1,6})\s*h\s+)?(?:(\d{1,6})\s*min\s+)?(\d{1,2}(?:\.\d{1,9})?)\s*(min|s)\s*", re.ASCII
)


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of measure: `(value + offset) * factor` is the value in the dimension's base unit.

    The base unit is the smallest metric one of its dimension (mm, mL, ms, mdegC), so that the factors
    of metric units are whole numbers and conversions between them round at most once.
    """

    symbol: str
    dimension: str
    factor: float
    offset: float = 0.0


_BTU = 1055.05585262  # J
_GALLON = 3785.411784  # mL
_INCH = 25.4  # mm
_DEG_F = 5000 / 9  # mK

_TABLE: Mapping[str, Mapping[str, float]] = {
    "temperature": {"mdegC": 1, "degC": 1000, "mdegF": 5 / 9, "degF": _DEG_F},
    "temperature difference": {"mK": 1, "K": 1000, "delta_degC": 1000, "delta_degF": _DEG_F},
    "temperature rate": {
        **{f"{degree}/min": 60 * 1000.0 for degree in ("K", "degC")},
        **{f"{degree}/s": 3600 * 1000.0 for degree in ("K", "degC")},
        **{f"{degree}/h": 1000.0 for degree in ("K", "degC")},
        "degF/min": 60 * _DEG_F,
        "degF/s": 3600 * _DEG_F,
        "degF/h": _DEG_F,
    },
    "time": {"ms": 1, "s": 1000, "min": 60_000, "h": 3_600_000},
    "volume": {"mL": 1, "L": 1000, "gal": _GALLON, "qt": _GALLON / 4},
    "mass": {"g": 1, "kg": 1000, "lb": 453.59237},
    "power": {"W": 1, "kW": 1000, "Btu/h": _BTU / 3600},
    "energy": {"J": 1, "kJ": 1000, "MJ": 1_000_000, "kWh": 3_600_000, "Btu": _BTU},
    "flow": {"mL/min": 1, "L/min": 1000, "L/s": 60_000, "gal/min": _GALLON},
    "length": {"mm": 1, "cm": 10, "m": 1000, "in": _INCH, "ft": 12 * _INCH},
    "pressure": {
        "Pa": 1,
        "mbar": 100,
        "kPa": 1000,
        "bar": 100_000,
        "inH2O": 249.08891,
        "psi": 6894.757293168,
    },
    "conductance": {"W/K": 1, "kW/K": 1000},
    "heat capacity": {"J/K": 1, "kJ/K": 1000},
    "ratio": {"permille": 1, "%": 10, "1": 1000},
    "voltage": {"uV": 1, "mV": 1000, "V": 1_000_000},
    "current": {"uA": 1, "mA": 1000, "A": 1_000_000},
    "resistance": {"mohm": 1, "ohm": 1000, "kohm": 1_000_000},
}
_OFFSETS = {"degF": -32.0, "mdegF": -32000.0}
OTHER_SPELLINGS = {"°C": "degC", "°F": "degF", "°C/min": "degC/min", "°F/min": "degF/min", "Ω": "ohm"}

UNITS: Mapping[str, Unit] = MappingProxyType(
    {
        symbol: Unit(symbol, dimension, float(factor), _OFFSETS.get(symbol, 0.0))
        for dimension, factors in _TABLE.items()
        for symbol, factor in factors.items()
    }
)
"""Every unit that may be written, by its symbol."""

_EXAMPLES = {
    "temperature": "'66 degC' or '152 degF'",
    "temperature difference": "'2 K' or '3.6 delta_degF'",
    "temperature rate": "'1 K/min' or '2 degF/min'",
    "time": "'250 ms', '4 s' or '8 min'",
    "volume": "'20 L' or '5 gal'",
    "mass": "'5 kg' or '11 lb'",
    "power": "'9 kW' or '30000 Btu/h'",
    "energy": "'500 kJ' or '2 kWh'",
    "flow": "'8 L/min' or '2 gal/min'",
    "length": "'0.3 m' or '12 in'",
    "pressure": "'2.7 kPa' or '11 inH2O'",
    "conductance": "'5 W/K'",
    "heat capacity": "'4 kJ/K'",
    "ratio": "'25 %' or '250 permille'",
    "voltage": "'230 V'",
    "current": "'1 mA'",
    "resistance": "'100 ohm'",
}

# What people write instead, in lower case, where likeness of letters would not find the right unit.
_MEANT = {
    **dict.fromkeys(("c", "deg", "celsius", "centigrade", "ºc", "℃"), "degC"),
    **dict.fromkeys(("f", "fahrenheit", "ºf", "℉"), "degF"),
    **dict.fromkeys(("kelvin", "degk", "°k"), "K"),
    **dict.fromkeys(("df", "ddegf", "delta_f", "deltaf"), "delta_degF"),
    **dict.fromkeys(("sec", "secs", "second", "seconds", '"'), "s"),
    **dict.fromkeys(("mins", "minute", "minutes", "'"), "min"),
    **dict.fromkeys(("hr", "hrs", "hour", "hours"), "h"),
    **dict.fromkeys(("msec", "millisecond", "milliseconds"), "ms"),
    **dict.fromkeys(("l", "liter", "liters", "litre", "litres"), "L"),
    **dict.fromkeys(("gals", "gallon", "gallons"), "gal"),
    **dict.fromkeys(("quart", "quarts", "qts"), "qt"),
    **dict.fromkeys(("lbs", "pound", "pounds"), "lb"),
    **dict.fromkeys(("gpm", "gal/m"), "gal/min"),
    **dict.fromkeys(("lpm", "l/m"), "L/min"),
    **dict.fromkeys(("btu/hr", "btuh", "btu/hour"), "Btu/h"),
    **dict.fromkeys(("inwc", "inh20", "iwc"), "inH2O"),
    **dict.fromkeys(("percent", "pct"), "%"),
    **dict.fromkeys(("inch", "inches"), "in"),
    **dict.fromkeys(("foot", "feet"), "ft"),
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number and the symbol of its unit."""

    value: float
    unit: str

    @property
    def dimension(self) -> str:
        """What it measures: `temperature`, `temperature difference`, `time`, ..."""
        return UNITS[self.unit].dimension

    def to(self, unit: str) -> float:
        """The value in another unit of the same dimension; QuantityError if `unit` is of another."""
        here, there = UNITS[self.unit], UNITS[unit]
        if here.dimension != there.dimension:
            raise QuantityError(self._wrong_dimension(there.dimension))
        if here is there:
            return self.value
        return (self.value + here.offset) * here.factor / there.factor - there.offset

    def __str__(self) -> str:
        return f"{format_number(self.value)} {self.unit}"

    def _wrong_dimension(self, wanted: str) -> str:
        said = f"'{self}' is {_a(self.dimension)}; {_a(wanted)} is wanted"
        if wanted == "temperature difference" and self.unit in ("degC", "degF"):
            spelled = "K" if self.unit == "degC" else "delta_degF"
            return f"{said}: write '{format_number(self.value)} {spelled}'"
        return f"{said}, such as {_EXAMPLES[wanted]}"


def parse_quantity(text: str, example: str = "'8 min'") -> Quantity:
    """The quantity that `text` states, such as `152 degF`; `example` is shown where it states none.

    Raises QuantityError when it is not one number and one known unit, is larger than `LARGEST`, or is
    a temperature below absolute zero.

    >>> parse_quantity("5 gal").to("L")
    18.92705892
    """
    match = _NUMBER.fullmatch(text)
    if match is None:
        time = _time_in_parts(text)
        if time is not None:
            return time
        mend = f"Write one number and one unit, such as {example}"
        raise QuantityError(f"{clip(text)} is not a quantity. {mend}")
    number, symbol = match.groups()
    if not symbol:
        raise QuantityError(f"{clip(text)} has no unit. Write one behind the number, such as {example}")
    unit = find_unit(symbol)
    value = float(number)
    if not abs(value) <= LARGEST:
        raise QuantityError(f"{clip(text)} is beyond the largest number taken, {LARGEST:g}")
    quantity = Quantity(value, unit.symbol)
    if unit.dimension == "temperature" and quantity.to("degC") < ABSOLUTE_ZERO:
        raise QuantityError(f"'{quantity}' is below absolute zero, {ABSOLUTE_ZERO} degC")
    return quantity


def _time_in_parts(text: str) -> Quantity | None:
    """A time such as `1 h 30 min` or `20 min 5 s`, in the unit of its last part."""
    match = _TIME_IN_PARTS.fullmatch(text)
    if match is None:
        return None
    hours, minutes, last, unit = match.groups()
    if hours is None and minutes is None:
        return None
    if float(last) >= 60 or (hours and minutes and int(minutes) >= 60) or (minutes and unit == "min"):
        return None
    whole = int(hours or 0) * 60 + int(minutes or 0)
    return Quantity((whole if unit == "min" else whole * 60) + float(last), unit)


def parse_as(text: str, unit: str) -> float:
    """The value of `text` in `unit`; QuantityError when it is no quantity or of another dimension."""
    return parse_quantity(text, example_of(unit)).to(unit)


def parse_ms(text: str) -> int:
    """A time in whole milliseconds; QuantityError when it is no time, negative, or finer than 1 ms."""
    value = parse_as(text, "ms")
    whole = round(value)
    if value < 0:
        raise QuantityError(f"{clip(text)} is negative; a time is 0 or more")
    if not math.isclose(value, whole, rel_tol=1e-12, abs_tol=1e-6):
        raise QuantityError(f"{clip(text)} is not a whole number of milliseconds")
    return whole


def find_unit(symbol: str) -> Unit:
    """The unit of that symbol; QuantityError naming the nearest one when there is none."""
    unit = UNITS.get(OTHER_SPELLINGS.get(symbol, symbol))
    if unit is not None:
        return unit
    near = nearest_unit(symbol)
    mend = f"did you mean '{near}'?" if near else "units are such as degC, K, min, L, kW, %"
    raise QuantityError(f"{clip(symbol)} is not a known unit, {mend}")


def nearest_unit(symbol: str) -> str | None:
    """The unit that somebody who wrote `symbol` most likely meant."""
    low = symbol.lower()
    by_low = {known.lower(): known for known in UNITS}
    if low in _MEANT or low in by_low:
        return _MEANT.get(low) or by_low[low]
    from difflib import get_close_matches  # wanted for a mistake alone

    near = get_close_matches(low[:20], [*by_low, *_MEANT], n=1, cutoff=0.7)
    return (by_low.get(near[0]) or _MEANT[near[0]]) if near else None


def example_of(unit: str) -> str:
    """Quoted examples of quantities that could be given in `unit`: `'66 degC' or '152 degF'`."""
    return _EXAMPLES[UNITS[unit].dimension]


def format_number(value: float) -> str:
    """The shortest text that reads back as the same number: `8`, `0.25`."""
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value)


def beyond(value: float, bound: float, places: int = 0) -> str:
    """`value` to so many decimals, or as many more as it takes to show on which side of `bound` it lies.

    >>> beyond(5.04, 5.0), beyond(63.19, 63.2, 1), beyond(12.3, 10.0)
    ('5.04', '63.19', '12')
    """
    for more in range(places, places + 12):
        text = f"{value:.{more}f}"
        if (float(text) > bound) == (value > bound) and (float(text) < bound) == (value < bound):
            return text
    return repr(value)


def clip(text: str, limit: int = 40) -> str:
    """`text` quoted for a message: printable, and cut to `limit` characters."""
    cut = text if len(text) <= limit else text[: limit - 3] + "..."
    return f"'{printable(cut)}'"


def printable(text: str) -> str:
    """`text` with every character that a terminal could act on written as its escape: `\\x1b`."""
    if text.isprintable():
        return text
    return "".join(one if one.isprintable() else ascii(one)[1:-1] for one in text)


def _a(dimension: str) -> str:
    return f"an {dimension}" if dimension[0] in "aeiou" else f"a {dimension}"
