"""The sentences of verdicts."""

from __future__ import annotations

from collections.abc import Sequence

ENDED_EARLY = "the run ended early, at {:.15g} s"
NEVER_OPENED = "the scope never opened"
NEVER_CAME = "the trigger never came"
ALREADY = "so at the very moment of each trigger; if it was so before, this shows nothing"
CUT_OFF = "the run ended before the answer was due or had lasted"
NOT_SETTLED = "it had not settled when the scope closed"
NOT_THERE = "it was not there yet when the scope closed"
TOO_SHORT = "the scope was never open that long"
NO_OCCURRENCE = "what is measured never came, or not whole"
NO_ROWS = "nothing was recorded"


def missing(at_ms: float, names: Sequence[str] = ()) -> str:
    """Why nothing can be said: a figure that decides is missing; `names` are those without one then."""
    what = " and ".join(f"'{name}'" for name in names) or "a figure"
    return f"{what} is missing at {round(at_ms) / 1000:.15g} s, where it decides"


def whole_ms(moment: float | None) -> int | None:
    """The nearest whole millisecond."""
    return None if moment is None else round(moment)
