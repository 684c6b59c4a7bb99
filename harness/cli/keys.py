"""Single keys from a terminal, without waiting for Enter."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def single_keys() -> Iterator[Callable[[], str]]:
    """Within, a function that gives the keys pressed since it was last called, without waiting.

    Where standard input is no terminal it gives none. Ctrl-C still interrupts; Ctrl-Z does nothing, since a
    bench that stands still leaves a device alone with its outputs. After a stop from elsewhere the keys work
    again as soon as the process goes on, whatever a shell has made of the terminal meanwhile.
    """
    if not has_keys():
        yield lambda: ""
        return
    if os.name == "nt":
        yield _pressed_on_windows
        return
    import select
    import signal
    import termios
    import tty

    number = sys.stdin.fileno()
    before = termios.tcgetattr(number)

    def listen(*_: object) -> None:
        tty.setcbreak(number)
        now = termios.tcgetattr(number)
        now[6][termios.VSUSP] = os.fpathconf(number, "PC_VDISABLE").to_bytes()
        termios.tcsetattr(number, termios.TCSADRAIN, now)

    def pressed() -> str:
        text = b""
        with contextlib.suppress(OSError):
            while select.select([number], [], [], 0.0)[0]:
                more = os.read(number, 64)
                if not more:
                    break
                text += more
        return text.decode("ascii", "ignore")

    resumed = signal.signal(signal.SIGCONT, listen)
    try:
        listen()
        yield pressed
    finally:
        signal.signal(signal.SIGCONT, resumed)
        termios.tcsetattr(number, termios.TCSADRAIN, before)


def has_keys() -> bool:
    """Whether standard input is a terminal."""
    return sys.stdin is not None and not sys.stdin.closed and sys.stdin.isatty()


def _pressed_on_windows() -> str:
    import importlib

    console = importlib.import_module("msvcrt")
    text = ""
    while console.kbhit():
        text += console.getwch()
    return text
