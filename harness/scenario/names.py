"""Messages about names that a person may have misspelled."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from harness.quantity import clip

_MOST_LISTED = 24


def nearest(wrong: str, known: Iterable[str]) -> str | None:
    """The known name that `wrong` most likely stands for."""
    names = {name.lower(): name for name in known}
    near = get_close_matches(wrong[:60].lower().replace(" ", "_"), names, n=1, cutoff=0.6)
    return names[near[0]] if near else None


def unknown(what: str, wrong: str, known: Iterable[str]) -> str:
    """Message that `wrong` is no known `what`, with the nearest known name, else all of them.

    >>> unknown("key", "burnr", ["burner", "coil"])
    'unknown key "burnr", did you mean "burner"?'
    """
    names = sorted(known)
    near = nearest(wrong, names)
    said = f"unknown {what} {quoted(wrong)}"
    if near:
        return f'{said}, did you mean "{near}"?'
    return f"{said}; {listed(names)}"


def listed(names: Iterable[str]) -> str:
    """`there are: a, b, c`, cut short where there are very many."""
    every = list(names)
    more = ", ..." if len(every) > _MOST_LISTED else ""
    return f"there are: {', '.join(every[:_MOST_LISTED])}{more}" if every else "there are none"


def quoted(text: str) -> str:
    """`text` in double quotes, printable and cut to a length for a message."""
    return f'"{clip(text)[1:-1]}"'
