"""Fixed bounds that assertions put on signals, found before a run: for a person to see beside a value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .build import Builder
from .conditions import Both, Less, Not
from .names import Names
from .numbers import Number, Signal
from .refusal import ExpressionError
from .spec import AssertionSpec


@dataclass(frozen=True)
class Bound:
    """`signal` is to stay below (`upper`) or above `value`, in the signal's own unit."""

    signal: str
    value: float
    upper: bool


def fixed_bounds(specs: Sequence[AssertionSpec], units: Mapping[str, str]) -> list[Bound]:
    """What `always` and `never` say of a signal beside a constant; what they say otherwise is left out."""
    names = Names(units)
    found: list[Bound] = []
    for spec in specs:
        text = spec.always if spec.always is not None else spec.never
        if text is None:
            continue
        try:
            condition: Any = Builder(text, names).condition()
        except ExpressionError:  # told where the run begins
            continue
        found += _of(condition, holds=spec.always is not None)
    return list(dict.fromkeys(found))


def _of(condition: Any, *, holds: bool) -> Iterator[Bound]:
    """Bounds of a condition that holds throughout, or never does."""
    if isinstance(condition, Not):
        yield from _of(condition.children[0], holds=not holds)
    elif isinstance(condition, Both):
        # Each part of an `and` that holds, or of an `or` that never does, says something by itself.
        for child in condition.children if holds is not condition.either else ():
            yield from _of(child, holds=holds)
    elif isinstance(condition, Less):
        low, high = condition.children
        yield from _beside(low, high, upper=holds)
        yield from _beside(high, low, upper=not holds)


def _beside(side: Number, other: Number, *, upper: bool) -> Iterator[Bound]:
    if isinstance(side, Signal) and other.constant is not None:
        yield Bound(side.name, other.constant, upper)
