"""A number of an expression in words again, as a person could have written it."""

from __future__ import annotations

from .numbers import Absolute, Linear, Number, Pair, Rate, Signal


def said(number: Number) -> str:
    """`abs(coil_outlet - 66 degC)`; what was converted to another unit is said in that."""
    if number.constant is not None:
        return f"{number.constant:.6g} {number.kind.label}".rstrip()
    if isinstance(number, Signal):
        return number.name
    inner = [said(child) for child in number.children]
    if isinstance(number, Absolute):
        return f"abs({inner[0]})"
    if isinstance(number, Rate):
        return f"rate({inner[0]})"
    if isinstance(number, Linear):
        return f"-({inner[0]})" if number.negates else inner[0]
    if isinstance(number, Pair) and number.sign in ("min", "max"):
        return f"{number.sign}({inner[0]}, {inner[1]})"
    if isinstance(number, Pair):
        return " ".join(
            (_wrapped(number.children[0], inner[0]), number.sign, _wrapped(number.children[1], inner[1]))
        )
    return "".join(inner)


def _wrapped(number: Number, text: str) -> str:
    return (
        f"({text})"
        if isinstance(number, Pair) and number.constant is None and number.sign in "+-*/"
        else text
    )
