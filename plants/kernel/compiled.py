"""Small functions written out as flat Python text and compiled, because they run at every exchange.

The text comes from the parts alone (never from a file or a device) and holds only indices, figures and the
names bound in `Names`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import exp
from typing import Any


class Names:
    """Objects that a compiled text refers to, each under a short name."""

    def __init__(self) -> None:
        self.bound: dict[str, Any] = {}
        self._known: dict[int, str] = {}

    def of(self, thing: object) -> str:
        """The name that stands for `thing` in the text."""
        name = self._known.get(id(thing))
        if name is None:
            name = f"o{len(self.bound)}"
            self._known[id(thing)] = name
            self.bound[name] = thing
        return name


def function(arguments: str, body: Sequence[str], names: Names) -> Callable[..., Any]:
    """Compile a function from the lines of its body."""
    text = f"def compiled({arguments}):\n" + "".join(f"    {line}\n" for line in body)
    space: dict[str, Any] = {"exp": exp, **names.bound}
    exec(compile(text, "<plant>", "exec"), space)
    made: Callable[..., Any] = space["compiled"]
    return made
