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

    Where standard input is no terminal it gives none. Ctrl-C still interrupts.
    """
    if not sys.stdin.isatty():
        yield lambda: ""
        return
    if os.name == "nt":
        yield _pressed_on_windows
        return
    import select
    import termios
    import tty

    number = sys.stdin.fileno()
    before = termios.tcgetattr(number)

    def pressed() -> str:
        text = b""
        with contextlib.suppress(OSError):
            while select.select([number], [], [], 0.0)[0]:
                more = os.read(number, 64)
                if not more:
                    break
                text += more
        return text.decode("ascii", "ignore")

    tty.setcbreak(number)
    try:
        yield pressed
    finally:
        termios.tcsetattr(number, termios.TCSADRAIN, before)


def _pressed_on_windows() -> str:
    import importlib

    console = importlib.import_module("msvcrt")
    text = ""
    while console.kbhit():
        text += console.getwch()
    return text
