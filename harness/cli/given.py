"""Words that a person gave with an option, as numbers; every refusal names the option and the mend."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from difflib import get_close_matches

from harness.errors import WrongUseError
from harness.quantity import QuantityError, format_number, parse_as, parse_ms


def wrong(command: str, what: str) -> WrongUseError:
    """The error of a wrong option."""
    return WrongUseError(f"unlit {command}: {what if what.endswith(('.', '?')) else what + '.'}")


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
        raise wrong(command, f"--{option}: {error}") from None
    if (least is not None and value < least) or (most is not None and value > most):
        bounds = [
            f"{format_number(bound)} {unit} or {word}"
            for bound, word in ((least, "more"), (most, "less"))
            if bound is not None
        ]
        raise wrong(command, f"--{option} {text} is out of range. Give {' and '.join(bounds)}")
    return value


def given_ms(command: str, option: str, text: str) -> int:
    """The time that stands behind an option, in whole milliseconds; WrongUseError if it is none."""
    try:
        return parse_ms(text)
    except QuantityError as error:
        raise wrong(command, f"--{option} {text}: {error}") from None


def needs(command: str, other: str, given: Mapping[str, object]) -> None:
    """Refuse options that do nothing without `other`; `given` holds what was said, None where nothing was."""
    for option, said in given.items():
        if said is not None:
            raise wrong(command, f"--{option} does nothing without {other}. Give that too, or leave it out")


def known_name(command: str, what: str, name: str, known: Iterable[str], listed: str = "") -> str:
    """`name` if it is one of `known`.

    Raises
    ------
    WrongUseError
        If it is none; the message offers the nearest, else says where they are `listed`, else names all.
    """
    names = list(known)
    if name in names:
        return name
    near = get_close_matches(name, names, n=1)
    mend = f"Did you mean {near[0]}?" if near else listed or f"There are: {', '.join(names)}."
    raise wrong(command, f"there is no {what} {name}. {mend}")


def pairs(command: str, option: str, given: Sequence[str] | None) -> dict[str, str]:
    """`NAME=VALUE` words as a table."""
    made = {}
    for text in given or ():
        name, sign, value = text.partition("=")
        if not sign:
            raise wrong(command, f"--{option} {text}: write it as NAME=VALUE")
        made[name.strip()] = value.strip()
    return made
