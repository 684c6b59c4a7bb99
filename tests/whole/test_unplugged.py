"""A USB cable pulled in the middle of a run, and put back: the run is inconclusive, with the reason, at once.

A pseudo-terminal stands for the board's port. When its far end closes the port hangs up and its path goes, as
a USB port's does; the board is powered by the cable, so what comes back has forgotten the run.
"""

from __future__ import annotations

import os
import threading
import tty
from pathlib import Path

import pytest

from harness.bench.run import run_scenario
from harness.links import open_link
from tests.whole.outcomes import SHORT, Nowhere


class Board:
    """The reference controller on a port at `path`, unplugged when it hears a line that begins so."""

    def __init__(self, library: str, path: Path, until: bytes, back: bool) -> None:
        self.library, self.path, self.until, self.back = library, path, until, back
        self.heard: list[bytes] = []
        self.plug_in()
        self.thread = threading.Thread(target=self.serve)
        self.thread.start()

    def plug_in(self) -> None:
        """The port's path comes, with a board that has just been powered."""
        self.master, self.slave = os.openpty()
        tty.setraw(self.slave)
        self.path.symlink_to(os.ttyname(self.slave))
        self.device = open_link(self.library)

    def unplug(self) -> None:
        """The port's path goes."""
        self.path.unlink()
        for descriptor in (self.slave, self.master):
            os.close(descriptor)
        self.device.close()

    def serve(self) -> None:
        while not (data := os.read(self.master, 4096)).startswith(self.until):
            self.device.write(data)
            os.write(self.master, self.device.read(1.0))
        self.unplug()
        if self.back:
            self.plug_in()
            self.heard.append(os.read(self.master, 4096))
            self.unplug()

    def end(self) -> None:
        """Let the thread go."""
        if self.back:
            os.write(self.slave, b"nothing more")
        self.thread.join()


@pytest.mark.parametrize("back", [False, True], ids=["gone", "gone and back"])
def test_a_pulled_cable_is_inconclusive(back, reference, tmp_path):
    board = Board(reference().links["lib"], tmp_path / "board", b"at 8000 ", back)
    result = run_scenario(SHORT, str(board.path), Nowhere())
    board.end()
    assert result.status == "inconclusive"
    assert board.heard == [b"nothing more"] * back, "the bench does not talk to a board that came back"
    assert result.length_ms == 8000
    assert result.reasons[0].startswith(f"at 8.000 s: {board.path}: the port is gone (")
    assert "Was the board unplugged or does it reset?" in result.reasons[0]
