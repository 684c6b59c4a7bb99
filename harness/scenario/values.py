"""Values of plant parameters, fault sizes and panel settings."""

from __future__ import annotations

import math
from contextlib import suppress

from harness.quantity import (
    LARGEST,
    UNITS,
    Quantity,
    QuantityError,
    example_of,
    parse_quantity,
)
from harness.scenario.forms import shown
from harness.scenario.model import PanelValue

_BARE = ("count", "1", "")  # units that are not written
_ROUNDING = 1e-9  # of the range's width: a limit written in another unit may miss it by rounding


def read_in_unit(value: object, unit: str, low: float, high: float) -> float:
    """A parameter's or size's value in its own unit, within `low` to `high`.

    A value with a unit is written as text; one whose unit is not in the table of units (`kJ/kg K`) must
    name exactly that. `bool` takes true or false, `count` and `1` a bare number. Raises QuantityError with
    the mend.
    """
    if unit == "bool":
        if not isinstance(value, bool):
            raise QuantityError(f"{shown(value)} is neither true nor false")
        return float(value)
    if unit in UNITS and isinstance(value, str):
        quantity = parse_quantity(value)
        found, said_in = quantity.to(unit), quantity.unit
    else:
        found, said_in = _plain(value, unit), unit
    slack = _ROUNDING * (high - low) if math.isfinite(high - low) else 0.0
    if not low - slack <= found <= high + slack:
        raise QuantityError(f"{shown(value)} is out of range, {_range(low, high, unit, said_in)}")
    return min(max(found, low), high)


def _plain(value: object, unit: str) -> float:
    """A number, for the units that take none; the number of a text that ends in `unit`, for all others."""
    counted = unit in _BARE
    if isinstance(value, str) and not counted and value.endswith(unit):
        with suppress(QuantityError):
            return parse_quantity(value.removesuffix(unit) + " 1").value
    if isinstance(value, bool) or not isinstance(value, int | float):
        wanted = f"such as {example_of(unit)}" if unit in UNITS else f'such as "2 {unit}"'
        raise QuantityError(f"{shown(value)} is not a {'number' if counted else f'quantity, {wanted}'}")
    if not counted:
        raise QuantityError(f'{shown(value)} has no unit. Write for example "{shown(value)} {unit}"')
    if not abs(value) <= LARGEST:
        raise QuantityError(f"{shown(value)} is not a number within -{LARGEST:g} to {LARGEST:g}")
    return float(value)


def _range(low: float, high: float, unit: str, said_in: str) -> str:
    """The range in the unit that the person wrote."""
    if said_in in _BARE:
        return f"{low:.6g} to {high:.6g}"
    ends = [Quantity(end, unit).to(said_in) if unit in UNITS else end for end in (low, high)]
    return " to ".join(f"'{end:.6g} {said_in}'" for end in ends)


def read_panel_value(value: object, line: int) -> PanelValue:
    """What a person sets on the panel: true, false, a number, or a quantity in quotes."""
    if isinstance(value, bool):
        return PanelValue(value, None, line)
    no_setting = f'{shown(value)} is no setting. Write true, false, a number or such as "152 degF"'
    if isinstance(value, str):
        if not any(character.isdigit() for character in value):
            raise QuantityError(no_setting)
        quantity = parse_quantity(value)
        return PanelValue(quantity.value, quantity.unit, line)
    if not isinstance(value, int | float):
        raise QuantityError(no_setting)
    if not abs(value) <= LARGEST:
        raise QuantityError(f"{shown(value)} is not a number within -{LARGEST:g} to {LARGEST:g}")
    return PanelValue(float(value), None, line)
