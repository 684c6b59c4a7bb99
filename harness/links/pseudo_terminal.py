"""`pty:COMMAND`: a child process on a pseudo-terminal, for firmware that wants a serial port's manners."""

from __future__ import annotations

import os
import subprocess
import tty
from collections.abc import Sequence

from harness.links.child import ChildLink


class TerminalLink(ChildLink):
    """A child on a raw pseudo-terminal: no echo, no line editing, bytes as they are."""

    def __init__(self, text: str, command: Sequence[str]) -> None:
        self._master = -1
        super().__init__(text, command)

    def _join(self) -> tuple[subprocess.Popen[bytes], int, int]:
        self._master, slave = os.openpty()
        try:
            tty.setraw(slave)
            child = self._spawn(slave, slave)
        finally:
            os.close(slave)
        return child, self._master, self._master

    def _part(self) -> None:
        master, self._master = self._master, -1
        if master >= 0:
            os.close(master)
