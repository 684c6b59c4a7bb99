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


def on_another_core(pid: int) -> None:
    """Put `pid`, before it has threads, on one core that this process is not on; several spread."""
    if not hasattr(os, "sched_setaffinity"):
        return
    with suppress(OSError):
        allowed = os.sched_getaffinity(0)
        others = sorted(allowed - {current_core()}) or sorted(allowed)
        os.sched_setaffinity(pid, {others[pid % len(others)]})


def let_the_chip_give_way(pid: int) -> None:
    """Lower the priority of all threads of `pid` but its main loop."""
    with suppress(OSError):
        for thread in os.listdir(f"/proc/{pid}/task"):
            if int(thread) != pid:
                os.setpriority(os.PRIO_PROCESS, int(thread), NICER)
