"""The system's clock as the bench uses it: it wakes at a deadline, never before; priority is given back."""

from __future__ import annotations

import os
import sys
import threading

from harness.bench.clock import WALL


def test_it_never_wakes_early():
    for wait_ns in (-1_000_000, 0, 1, 300_000, 2_000_000):
        deadline_ns = WALL.now_ns() + wait_ns
        WALL.sleep_until(deadline_ns)
        assert WALL.now_ns() >= deadline_ns


def test_priority_is_given_back():
    before = os.sched_getscheduler(0), os.sched_getparam(0).sched_priority
    with WALL.ahead_of_others():
        within = os.sched_getscheduler(0) & ~os.SCHED_RESET_ON_FORK
        assert within in (before[0], os.SCHED_FIFO)
    assert (os.sched_getscheduler(0), os.sched_getparam(0).sched_priority) == before


def test_all_threads_go_ahead_this_one_first_and_come_back():
    """A thread that holds the interpreter's lock must not wait behind the machine's other work."""
    gate = threading.Event()
    other = threading.Thread(target=gate.wait)
    other.start()
    both = (threading.get_native_id(), other.native_id)
    interval_s = sys.getswitchinterval()
    try:
        before = [os.sched_getscheduler(thread) for thread in both]
        with WALL.ahead_of_others():
            ranks = [os.sched_getparam(thread).sched_priority for thread in both]
            assert ranks in ([2, 1], [0, 0])
            assert sys.getswitchinterval() < interval_s
        assert [os.sched_getscheduler(thread) for thread in both] == before
        assert sys.getswitchinterval() == interval_s
    finally:
        gate.set()
        other.join()


def test_a_system_without_it_goes_on(monkeypatch):
    def refuses(*words):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "sched_setscheduler", refuses)
    with WALL.ahead_of_others():
        assert WALL.now_ns() > 0
    monkeypatch.setattr(os, "listdir", refuses)
    with WALL.ahead_of_others():
        assert WALL.now_ns() > 0
    monkeypatch.delattr(os, "SCHED_FIFO")
    with WALL.ahead_of_others():
        assert WALL.now_ns() > 0
