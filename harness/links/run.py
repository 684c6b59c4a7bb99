"""`run:COMMAND`: a child process on its standard input and output."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Sequence

from harness.links.child import ChildLink
from harness.links.placement import SharedCore


class PipeLink(ChildLink):
    """A child on two pipes, placed on the bench's core (see placement.py)."""

    def __init__(self, text: str, command: Sequence[str]) -> None:
        self._pipes: list[int] = []
        self._core = SharedCore()
        super().__init__(text, command)

    def _join(self) -> tuple[subprocess.Popen[bytes], int, int]:
        stdin, out = os.pipe()
        into, stdout = os.pipe()
        self._pipes = [out, into]
        try:
            child = self._spawn(stdin, stdout)
        finally:
            os.close(stdin)
            os.close(stdout)
        self._core.share(child.pid)
        return child, out, into

    def _part(self) -> None:
        self._core.release()
        pipes, self._pipes = self._pipes, []
        for descriptor in pipes:
            os.close(descriptor)
