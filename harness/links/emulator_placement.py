"""Where an emulator's threads run: all on one core, and the one that plays the chip gives way to the others.

The emulator's main loop hands each received byte to the thread that plays the chip. On two cores each byte
waits for a sleeping core to wake; on one the kernel switches at once. Mean time of an exchange with the
reference controller (QEMU 7.2, 2 busy cores, six series of 400 exchanges, best to worst):

    AVR, which never sleeps    left alone 1.8 to 5.3 ms    one core, not the bench's    0.8 to 1.6 ms
    ARM, which sleeps (WFI)    left alone 0.4 to 1.3 ms    one core, the bench's        0.2 to 0.8 ms
"""

from __future__ import annotations

import os
from contextlib import suppress

from harness.links.placement import current_core

# Large enough to give way, small enough not to starve on a busy machine; 19 made ARM slower.
NICER = 5


class CoreApart:
    """Keeps a child on one core and this process off it until `release`, where the system can.

    Without it the kernel draws this process to the core that wakes it, which is the busy one.
    """

    def __init__(self) -> None:
        self._before: set[int] = set()
        self._ours: set[int] = set()

    def share(self, pid: int) -> None:
        """Part `pid`, before it has threads, from this process; several spread over the cores."""
        if not hasattr(os, "sched_setaffinity"):
            return
        with suppress(OSError):
            if not self._ours:
                self._before = self._ours = os.sched_getaffinity(0)
            others = sorted(self._before - {current_core()}) or sorted(self._before)
            core = {others[pid % len(others)]}
            os.sched_setaffinity(pid, core)
            self._ours = self._before - core or self._before
            os.sched_setaffinity(0, self._ours)

    def release(self) -> None:
        """Give this process its cores back, unless something else has placed it since."""
        if not self._ours:
            return
        with suppress(OSError):
            if os.sched_getaffinity(0) == self._ours:
                os.sched_setaffinity(0, self._before)
        self._ours = set()


def let_the_chip_give_way(pid: int) -> None:
    """Lower the priority of all threads of `pid` but its main loop."""
    with suppress(OSError):
        for thread in os.listdir(f"/proc/{pid}/task"):
            if int(thread) != pid:
                os.setpriority(os.PRIO_PROCESS, int(thread), NICER)
