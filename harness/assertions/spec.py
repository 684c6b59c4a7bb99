"""What an assertion states, as a scenario file writes it.

README.md beside this file defines each pattern. `KEYS` says which TOML key fills which field, so that the
loader and the checks speak of the same names.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

KEYS: Mapping[str, str] = MappingProxyType(
    {
        "title": "title",
        "basis": "basis",
        "always": "always",
        "never": "never",
        "sometime": "sometime",
        "after": "after",
        "within": "within_ms",
        "expect": "expect",
        "held": "held_ms",
        "before": "before",
        "again": "again",
        "count": "count",
        "each": "each",
        "figure": "figure",
        "at_least": "at_least",
        "at_most": "at_most",
        "while": "while_",
        "grace": "grace_ms",
    }
)
"""TOML key of an [[assertion]] -> field of `AssertionSpec`."""

PATTERNS = ("always", "never", "sometime", "after", "before", "again", "count", "each", "figure")
"""Keys that each state a pattern; an assertion has one of them."""

TEXT_KEYS = (*PATTERNS, "expect", "while")
"""Keys whose value is an expression."""

DURATION_KEYS = frozenset({"within", "held", "grace"})
"""Keys whose value is a duration ("4 s"); their fields are whole milliseconds."""


@dataclass(frozen=True)
class AssertionSpec:
    """One [[assertion]] of a scenario, expressions still as text.

    Attributes
    ----------
    title, basis : str
        What must hold, in a person's words, and the standard or practice it rests on.
    always, never, sometime : str or None
        A condition that holds throughout, at no moment, or at some moment of the scope.
    after, expect : str or None
        A trigger and the condition that must answer each of its occurrences.
    before : str or None
        A condition that must not come before `expect` has come.
    again : str or None
        A condition that must keep coming back, at the latest after `within_ms`.
    within_ms : int or None
        Longest time from the trigger to the answer; exactly this long is in time. [ms]
    held_ms : int or None
        How long the answer must then last without a break; None: a moment is enough. [ms]
    count, each, figure : str or None
        A condition whose occurrences are counted, or measured each; a figure of merit.
    at_least, at_most : str or None
        The bound on that: a whole number, a time, a quantity in the figure's unit; one of the two.
    while_ : str or None
        The scope: a condition, or "between A and B", "before A", "after A"; None: the whole run.
    grace_ms : int or None
        The scope begins this long after it opens. [ms]
    lines : Mapping[str, int]
        TOML key -> line of the file, counted from 1; the line of the table itself under "".
    file : str
        Where it is written: the scenario, or a requirement set that the scenario includes.
    required_at : int
        The scenario's line that includes the set; 0 for an assertion of the scenario's own.
    """

    title: str
    basis: str = ""
    always: str | None = None
    never: str | None = None
    sometime: str | None = None
    after: str | None = None
    within_ms: int | None = None
    expect: str | None = None
    held_ms: int | None = None
    while_: str | None = None
    grace_ms: int | None = None
    before: str | None = None
    again: str | None = None
    count: str | None = None
    each: str | None = None
    figure: str | None = None
    at_least: str | None = None
    at_most: str | None = None
    lines: Mapping[str, int] = field(default_factory=dict, compare=False)
    file: str = ""
    required_at: int = 0

    def value(self, key: str) -> str | int | None:
        """The value under a TOML key; None where the file does not state it."""
        stated: str | int | None = getattr(self, KEYS[key])
        return stated

    @property
    def stated(self) -> str:
        """The key of its pattern; empty where it states none."""
        return next((key for key in PATTERNS if self.value(key) is not None), "")

    def texts(self) -> list[str]:
        """All its expressions: whatever may name a signal."""
        return [text for key in TEXT_KEYS if isinstance(text := self.value(key), str)]

    def stated_values(self) -> dict[str, str | int]:
        """What the file states, by TOML key; durations in ms. `spec_of` takes it back."""
        return {key: value for key in KEYS if (value := self.value(key)) is not None}


def spec_of(values: Mapping[str, str | int]) -> AssertionSpec:
    """The assertion with these values by TOML key; what is not known here is left out."""
    return AssertionSpec(**{KEYS[key]: value for key, value in values.items() if key in KEYS})  # type: ignore[arg-type]
