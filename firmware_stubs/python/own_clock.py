"""Wall pace on a host: a main loop with a clock of its own, as a board has one."""

import os
import select
import time

TURN_MS = 100


def serve(kit, app, answer):
    """Serve standard input and output until the bench closes it; a turn of `app.on_step` each 100 ms.

    kit: made with wall_pace. answer: the bytearray that its `write` extends.
    """
    due_ms = _now_ms()
    while True:
        due_ms = _turn(kit, app, due_ms)
        _flush(answer)
        if select.select([0], [], [], max(0, due_ms - _now_ms()) / 1000)[0]:
            heard = os.read(0, 4096)
            if not heard:
                return
            kit.poll(_now_ms())  # What is heard was heard now, not at the last turn.
            kit.feed(heard)
            _flush(answer)


def _now_ms():
    """The board's clock; the kit brings it to the bench's."""
    return time.monotonic_ns() // 1000000


def _turn(kit, app, due_ms):
    """One turn of the control loop if it is due; when the next one is."""
    now_ms = _now_ms()
    if now_ms < due_ms:
        return due_ms
    if kit.running:
        kit.poll(now_ms)
        app.on_step(kit)
        kit.poll(now_ms)
    return max(due_ms + TURN_MS, now_ms + 1)


def _flush(answer):
    if answer:
        os.write(1, answer)
        answer[:] = b""
