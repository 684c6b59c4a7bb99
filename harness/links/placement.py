"""Where the two sides of a link run: one core for a child on pipes, free for one on a pseudo-terminal.

In lockstep pace bench and device only ever take turns. On one core the kernel hands the processor straight
over; on two it wakes a sleeping core each time. A pseudo-terminal passes its bytes through a kernel worker,
which then waits for the core that both ends keep busy. Mean round trip of a 43-byte line, Python to `cat`
(tests/benchmarks/placement.py, Linux 6.18, 2 cores, four runs, 20 000 lines each):

    pipe             free 3 to 63 µs     one core 3 µs
    pseudo-terminal  free 7 to 37 µs     one core 7 to 91 µs

So pipes are placed on one core, always as fast as the best free run, and pseudo-terminals are left alone.
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

#: The core of `settle`.
_settled: int | None = None


def settle(core: int | None) -> None:
    """Have this process's links placed as from `core`: of several benches started at once each gets its own.

    Without it they would all look where they run at the same moment, which is often the same core. None takes
    it back.
    """
    global _settled
    _settled = core


def usable_cores() -> list[int]:
    """The cores this process may run on, in order; empty where the system does not tell."""
    return sorted(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else []


def current_core() -> int | None:
    """The core this process has settled on, else the one it runs on."""
    if _settled is not None:
        return _settled
    try:
        fields = Path("/proc/self/stat").read_text("ascii", "replace").rpartition(")")[2].split()
        return int(fields[36])  # Field 39 of proc(5), `processor`; these start at field 3.
    except (OSError, ValueError, IndexError):
        return None


class SharedCore:
    """Keeps this process and a child on one core until `release`; does nothing where the system cannot."""

    def __init__(self) -> None:
        self._before: set[int] = set()
        self._core: set[int] = set()

    def share(self, pid: int) -> None:
        """Put the child `pid` and this process on the core this process is on."""
        if not hasattr(os, "sched_setaffinity"):
            return
        with suppress(OSError):
            if not self._core:
                allowed = os.sched_getaffinity(0)
                core = current_core()
                self._before, self._core = allowed, {core if core in allowed else min(allowed)}
                os.sched_setaffinity(0, self._core)
            os.sched_setaffinity(pid, self._core)

    def release(self) -> None:
        """Give this process its cores back, unless something else has placed it since."""
        if not self._core:
            return
        with suppress(OSError):
            if os.sched_getaffinity(0) == self._core:
                os.sched_setaffinity(0, self._before)
        self._core = set()
