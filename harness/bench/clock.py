"""The bench's own clock, behind three calls so that tests can run on one that does not wait."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress


class Clock:
    """Wall time that no one sets: the system's monotonic clock."""

    def now_ns(self) -> int:
        """Time now, from an origin of its own. [ns]"""
        return time.monotonic_ns()

    def sleep_until(self, deadline_ns: int) -> None:
        """Return at `deadline_ns` or as soon after it as the system wakes us; at once if it is past."""
        while (left_ns := deadline_ns - time.monotonic_ns()) > 0:
            time.sleep(left_ns / 1e9)

    @contextmanager
    def ahead_of_others(self) -> Iterator[None]:
        """Within, this thread runs before all ordinary ones, where the system lets it.

        Linux: SCHED_FIFO (sched(7)), for root or with an `rtprio` limit; a device started meanwhile does not
        inherit it. Elsewhere nothing changes.
        """
        if not hasattr(os, "SCHED_FIFO"):
            yield
            return
        before, nice = os.sched_getscheduler(0), os.sched_getparam(0)
        with suppress(OSError):
            os.sched_setscheduler(0, os.SCHED_FIFO | os.SCHED_RESET_ON_FORK, os.sched_param(1))
        try:
            yield
        finally:
            with suppress(OSError):
                os.sched_setscheduler(0, before, nice)


WALL = Clock()
