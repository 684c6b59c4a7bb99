"""JSON Schemas of the values that scenario files hold: text, times, quantities.

A shape never refuses what the loader takes. It may take more: ranges of quantities, and everything that
depends on two values at once, are the loader's business.
"""

from __future__ import annotations

import math
from typing import Any

from harness.quantity import OTHER_SPELLINGS, UNITS, example_of

Shape = dict[str, Any]

NUMBER = r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?"
SPACE = r"\s*"
IN_PARTS = r"([0-9]{1,6}\s*h\s+)?([0-9]{1,6}\s*min\s+)?[0-9]{1,2}(\.[0-9]{1,9})?\s*(min|s)"
BARE = ("count", "1", "")


def line(longest: int) -> Shape:
    """Some words on one line."""
    return {"type": "string", "maxLength": longest, "pattern": r"\S"}


def text(longest: int) -> Shape:
    """Any text."""
    return {"type": "string", "maxLength": longest}


def whole(low: int, high: int) -> Shape:
    """A whole number."""
    return {"type": "integer", "minimum": low, "maximum": high}


def words(*options: str) -> Shape:
    """One of these."""
    return {"type": "string", "enum": list(options)}


def quantity(unit: str) -> Shape:
    """Text with a number and any unit of the same dimension; time may stand in parts."""
    dimension = UNITS[unit].dimension
    symbols = [symbol for symbol, known in UNITS.items() if known.dimension == dimension]
    symbols += [other for other, symbol in OTHER_SPELLINGS.items() if symbol in symbols]
    one = f"{NUMBER}{SPACE}({'|'.join(map(_literal, symbols))})"
    either = f"({one}|{IN_PARTS})" if dimension == "time" else one
    return {"type": "string", "pattern": f"^{SPACE}{either}{SPACE}$", "examples": _examples(unit)}


def of_unit(unit: str, low: float, high: float) -> Shape:
    """What `values.read_in_unit` takes for a parameter or a size in this unit."""
    if unit == "bool":
        return {"type": "boolean"}
    ends = {"minimum": low, "maximum": high}
    number: Shape = {"type": "number"} | {key: end for key, end in ends.items() if math.isfinite(end)}
    if unit in BARE:
        return {"anyOf": [number, _ref(unit)]} if unit in UNITS else number
    if unit in UNITS:
        return {"allOf": [_ref(unit)]}  # not bare: what stands beside a reference is not read
    ending = _literal(unit)
    return {"type": "string", "pattern": f"^{SPACE}{NUMBER}{SPACE}{ending}$", "examples": [f"2 {unit}"]}


def definitions() -> dict[str, Shape]:
    """The shapes that `of_unit` refers to, by name below `$defs`: one a dimension."""
    return {_named(symbol): quantity(symbol) for symbol in UNITS}


def _ref(unit: str) -> Shape:
    return {"$ref": f"#/$defs/{_named(unit)}"}


def _named(unit: str) -> str:
    return UNITS[unit].dimension.replace(" ", "-")  # a blank cannot stand in a reference


def _examples(unit: str) -> list[str]:
    return [one.strip("'") for one in example_of(unit).replace(" or ", ", ").split(", ")]


def _literal(symbol: str) -> str:
    """`symbol` for a pattern, by the rules of every dialect."""
    return "".join(f"\\{char}" if char in r"^$\.*+?()[]{}|/" else char for char in symbol)


TIME = quantity("ms")
"""A length of time, or a moment of bench time."""
