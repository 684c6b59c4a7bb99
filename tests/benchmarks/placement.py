"""Prints the round trip of a bare echo over a pipe and a pseudo-terminal, free and on one core.

`cat` echoes, so no compiler is needed. harness/links/placement.py follows what this prints.
Run: python tests/benchmarks/placement.py
"""

import os
import pty
import select
import statistics
import subprocess
import time
import tty

LINE = b"at 123456 1=65123 2=66123 3=64500 4=1*ABCD\n"


def percentiles(write: int, read: int, rounds: int) -> tuple[float, float]:
    """Mean and 99th percentile of the round trip [µs]."""
    poll = select.poll()
    poll.register(read, select.POLLIN)
    times = []
    for _ in range(rounds):
        begun = time.perf_counter_ns()
        os.write(write, LINE)
        left = len(LINE)
        while left:
            poll.poll(1000)
            left -= len(os.read(read, 4096))
        times.append((time.perf_counter_ns() - begun) / 1000)
    return statistics.fmean(times), statistics.quantiles(times, n=100)[98]


def echo(terminal: bool, pinned: bool, rounds: int = 20_000) -> tuple[float, float]:
    """Round trip to a child that echoes."""
    before = os.sched_getaffinity(0)
    if terminal:
        master, slave = pty.openpty()
        tty.setraw(slave)
        child = subprocess.Popen(["cat"], stdin=slave, stdout=slave)
        ends = master, master
    else:
        child = subprocess.Popen(["cat"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0)
        ends = child.stdin.fileno(), child.stdout.fileno()
    try:
        if pinned:
            os.sched_setaffinity(0, {min(before)})
            os.sched_setaffinity(child.pid, {min(before)})
        percentiles(*ends, 500)
        return percentiles(*ends, rounds)
    finally:
        os.sched_setaffinity(0, before)
        child.kill()
        child.wait()


def main() -> None:
    for terminal in (False, True):
        free, pinned = echo(terminal, False), echo(terminal, True)
        name = "pseudo-terminal" if terminal else "pipe"
        for how, (mean, tail) in (("free", free), ("one core", pinned)):
            print(f"{name}, {how}: {mean:.1f} µs, 99th percentile {tail:.1f} µs")


if __name__ == "__main__":
    main()
