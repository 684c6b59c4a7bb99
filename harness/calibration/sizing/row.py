"""One line of an answer."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """What, how much, and where the figure comes from; `note` may be empty."""

    what: str
    value: float
    unit: str
    note: str = ""


class DoesNotFitError(ValueError):
    """What is asked for cannot be: the message says why, and what would do."""
