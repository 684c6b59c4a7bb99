"""The mistakes found in one file, gathered until all are known."""

from __future__ import annotations

from typing import Protocol

from harness.errors import FileMistakesError, Mistake
from harness.quantity import printable
from harness.scenario.source import KeyPath

_LONGEST = 1000  # characters of a message; a key of the file may be far longer


class Lines(Protocol):
    """Where keys and values stand: `source.Places`."""

    def key(self, path: KeyPath) -> int: ...
    def value(self, path: KeyPath) -> int: ...


class Findings:
    """Mistakes of one file, each at the line of its key or value.

    A message may go on below its first line, to point at a character; names that come from the file must
    not bring line breaks of their own.
    """

    def __init__(self, file: str, places: Lines) -> None:
        self.file = file
        self.places = places
        self._mistakes: list[Mistake] = []

    @property
    def mistakes(self) -> tuple[Mistake, ...]:
        """All that were noted so far."""
        return tuple(self._mistakes)

    def at_key(self, path: KeyPath, what: str) -> None:
        """A wrong or missing key; a missing one stands at the header of its table."""
        self._add(self.places.key(path), what)

    def at_value(self, path: KeyPath, what: str) -> None:
        """A wrong value."""
        self._add(self.places.value(path), what)

    def at_line(self, line: int, what: str) -> None:
        """Something wrong on a line that is known already."""
        self._add(line, what)

    def take(self, error: FileMistakesError) -> None:
        """The mistakes of another file that this one names."""
        self._mistakes += error.mistakes

    def raise_if_any(self) -> None:
        """FileMistakesError with every mistake, by rising line."""
        if self._mistakes:
            raise FileMistakesError(sorted(self._mistakes, key=lambda one: (one.file != self.file, one.line)))

    def _add(self, line: int, what: str) -> None:
        first, *pointer = (what if len(what) <= _LONGEST else what[:_LONGEST] + " ...").split("\n")
        said = "\n".join(map(printable, [first if first[-1] in ".?" else f"{first}.", *pointer]))
        self._mistakes.append(Mistake(self.file, line, said))
