"""The bench's own clock, behind three calls so that tests can run on one that does not wait."""

from __future__ import annotations

import gc
import os
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress

#: How soon a thread that waits for the interpreter's lock asks for it. [s]
HAND_OVER_S = 1e-4


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
        """Within, this process runs before all ordinary ones where the system allows it; this thread first.

        Linux: SCHED_FIFO (sched(7)), for root or with an `rtprio` limit; a device started meanwhile does not
        inherit it. The other threads have it too, since one that holds the interpreter's lock holds this one
        up. Everywhere: that lock is asked for sooner, and what lives already is not looked at for garbage.
        """
        interval_s = sys.getswitchinterval()
        sys.setswitchinterval(HAND_OVER_S)
        gc.collect()
        gc.freeze()
        before = _put_ahead()
        try:
            yield
        finally:
            for thread, (policy, param) in before.items():
                with suppress(OSError):
                    os.sched_setscheduler(thread, policy, param)
            gc.unfreeze()
            sys.setswitchinterval(interval_s)


def _put_ahead() -> dict[int, tuple[int, os.sched_param]]:
    """Put all threads ahead where that is allowed; how those stood that were, by number."""
    if not hasattr(os, "SCHED_FIFO"):
        return {}
    before = {}
    ours = threading.get_native_id()
    for thread in _threads():
        with suppress(OSError):
            stood = os.sched_getscheduler(thread), os.sched_getparam(thread)
            rank = os.sched_param(2 if thread == ours else 1)
            os.sched_setscheduler(thread, os.SCHED_FIFO | os.SCHED_RESET_ON_FORK, rank)
            before[thread] = stood
    return before


def _threads() -> list[int]:
    """The threads of this process; this one alone where the system does not tell."""
    try:
        return [int(name) for name in os.listdir("/proc/self/task")]
    except OSError:
        return [threading.get_native_id()]


WALL = Clock()
