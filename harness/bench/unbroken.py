"""A stretch of work that a person's Ctrl-C does not cut in two."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

#: What stops a run: Ctrl-C, and SIGTERM where several are played at once.
STOPS = (signal.SIGINT, signal.SIGTERM)

_Handler = Callable[[int, FrameType | None], object]


@contextmanager
def unbroken() -> Iterator[None]:
    """Within, the first Ctrl-C or SIGTERM waits for the end; the second acts at once, as work may hang.

    Only the main thread hears them; in another there is nothing to do.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    waiting: list[tuple[int, FrameType | None]] = []
    before: dict[int, _Handler] = {}

    def hold(number: int, frame: FrameType | None) -> None:
        waiting.append((number, frame))
        if len(waiting) > 1:
            before[number](number, frame)

    for stop in STOPS:
        handler = signal.getsignal(stop)
        if callable(handler):
            before[stop] = handler
            signal.signal(stop, hold)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
    for number, frame in waiting[:1]:
        before[number](number, frame)
