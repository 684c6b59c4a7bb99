"""Words that a person gave with an option, as numbers; every refusal names the option and the mend."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from harness.errors import WrongUseError
from harness.quantity import QuantityError, format_number, parse_as


def given_value(
    command: str, option: str, text: str, unit: str, *, least: float | None = None, most: float | None = None
) -> float:
    """The quantity that stands behind an option, in `unit`.

    Raises
    ------
    WrongUseError
        If it is no such quantity, or out of the range from `least` to `most`, both included.
    """
    try:
        value = parse_as(text, unit)
    except QuantityError as error:
        raise WrongUseError(f"unlit {command}: --{option}: {error}.") from None
    if (least is not None and value < least) or (most is not None and value > most):
        bounds = [
            f"{format_number(bound)} {unit} or {word}"
            for bound, word in ((least, "more"), (most, "less"))
            if bound is not None
        ]
        raise WrongUseError(
            f"unlit {command}: --{option} {text} is out of range. Give {' and '.join(bounds)}."
        )
    return value


def known_name(command: str, what: str, name: str, known: Iterable[str]) -> str:
    """`name` if it is one of `known`.

    Raises
    ------
    WrongUseError
        If it is none; the message offers the nearest, or all.
    """
    names = list(known)
    if name in names:
        return name
    near = get_close_matches(name, names, n=1)
    mend = f"Did you mean {near[0]}?" if near else f"There are: {', '.join(names)}."
    raise WrongUseError(f"unlit {command}: there is no {what} {name}. {mend}")
