"""The sentences of verdicts."""

from __future__ import annotations

from collections.abc import Sequence

ENDED_EARLY = "the run ended early, at {:.15g} s"
NEVER_OPENED = "the scope never opened"
NEVER_CAME = "the trigger never came"
CUT_OFF = "the run ended before the answer was due or had lasted"
NO_ROWS = "nothing was recorded"


def missing(at_ms: float, names: Sequence[str] = ()) -> str:
    """Why nothing can be said: a figure that decides is missing; `names` are those without one then."""
    what = " and ".join(f"'{name}'" for name in names) or "a figure"
    return f"{what} is missing at {round(at_ms) / 1000:.15g} s, where it decides"


def whole_ms(moment: float | None) -> int | None:
    """The nearest whole millisecond."""
    return None if moment is None else round(moment)
