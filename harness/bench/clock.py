"""The bench's own clock, behind two calls so that tests can run on one that does not wait."""

from __future__ import annotations

import time


class Clock:
    """Wall time that no one sets: the system's monotonic clock."""

    def now_ns(self) -> int:
        """Time now, from an origin of its own. [ns]"""
        return time.monotonic_ns()

    def sleep_until(self, deadline_ns: int) -> None:
        """Return at `deadline_ns` or as soon after it as the system wakes us; at once if it is past."""
        while (left_ns := deadline_ns - time.monotonic_ns()) > 0:
            time.sleep(left_ns / 1e9)


WALL = Clock()
