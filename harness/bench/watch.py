"""What follows a run while it is played: a step test that sees when it is over, a person at a screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from harness.bench.recorder import ChunkSink, Column
from harness.bench.result import Event


class Watcher(ChunkSink, Protocol):
    """Sees all that is recorded, as soon as it is. The bench calls it between exchanges: it must be quick.

    A KeyboardInterrupt that it raises stops the run as a person's Ctrl-C does.
    """

    def begin(self, columns: Sequence[Column]) -> None:
        """The signals that will be recorded, in the order of `chunk`."""

    def event(self, event: Event) -> None:
        """Something that happened."""

    def over(self, t_ms: int) -> bool:
        """Whether the run is complete at `t_ms`; asked before each exchange, and stays true."""

    def marks(self) -> int:
        """How often a person has marked the present moment since this was last asked."""
