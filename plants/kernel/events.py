"""Events at integer milliseconds, ordered so that ties never depend on chance.

An entry is (time, priority, running number, name, argument). It names its handler instead of holding it, so
that the queue can be saved and restored as plain data.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable

Entry = tuple[int, int, int, str, float]
NEVER = 2**62
"""A time no run reaches."""


class EventQueue:
    """What will happen, and when."""

    def __init__(self) -> None:
        self._heap: list[Entry] = []
        self._handlers: dict[str, Callable[[float], None]] = {}
        self._number = 0
        self.now_ms = 0

    def handle(self, name: str, handler: Callable[[float], None]) -> None:
        """Let `handler` be called with the argument of each event called `name`."""
        if name in self._handlers:
            raise ValueError(
                f"{name}: two parts handle an event of this name. Give the parts different names."
            )
        self._handlers[name] = handler

    def after(self, delay_ms: int, name: str, argument: float = 0.0, priority: int = 0) -> int:
        """Plan an event `delay_ms` from now; returns the number that cancels it."""
        self._number += 1
        heapq.heappush(self._heap, (self.now_ms + max(0, delay_ms), priority, self._number, name, argument))
        return self._number

    def cancel(self, number: int) -> None:
        """Forget a planned event; one that has happened or is unknown is ignored."""
        self._heap = [entry for entry in self._heap if entry[2] != number]
        heapq.heapify(self._heap)

    def next_ms(self) -> int:
        """Time of the next event, or NEVER."""
        return self._heap[0][0] if self._heap else NEVER

    def run_due(self) -> bool:
        """Let everything happen that is planned for now or earlier, also what that plans for now.

        Whether anything was.
        """
        if not self._heap or self._heap[0][0] > self.now_ms:
            return False
        while self._heap and self._heap[0][0] <= self.now_ms:
            _, _, _, name, argument = heapq.heappop(self._heap)
            self._handlers[name](argument)
        return True

    def save(self) -> tuple[list[Entry], int, int]:
        """The whole state as plain data."""
        return list(self._heap), self._number, self.now_ms

    def restore(self, saved: tuple[list[Entry], int, int]) -> None:
        """Go back to a saved state."""
        self._heap, self._number, self.now_ms = list(saved[0]), saved[1], saved[2]
