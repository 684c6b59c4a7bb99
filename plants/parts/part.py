"""What every part with a state of its own has in common."""

from __future__ import annotations

from copy import copy
from typing import Any, ClassVar


class Part:
    """A thing that remembers something; `saved` names what belongs to its state."""

    saved: ClassVar[tuple[str, ...]] = ()

    def save(self) -> tuple[Any, ...]:
        """The state as plain data."""
        return tuple(copy(getattr(self, name)) for name in self.saved)

    def restore(self, state: tuple[Any, ...]) -> None:
        """Go back to a saved state."""
        for name, value in zip(self.saved, state, strict=True):
            setattr(self, name, copy(value))
