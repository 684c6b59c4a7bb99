"""`avr:FILE.elf` and `arm:FILE.elf`: the firmware as built for its chip, in a board emulator (QEMU).

The serial port of the board is the emulator's standard input and output; QEMU's monitor is on a socket
pair. Measured under QEMU 7.2 with the reference controller, a line of 44 bytes and its answer (median, 2 busy
cores): pipes 0.7 ms on AVR and 0.3 ms on ARM, a socket pair 0.8 and 0.4 ms, a pseudo-terminal 2.3 and 0.4 ms.
The emulator takes one received byte in each turn of its main loop, which sets the limit.

A power cut is a new start of the emulator on AVR, which loses everything: QEMU has no EEPROM there (it reads
as zeros). On ARM it is the machine's reset, and RAM that the firmware's start-up code leaves alone (section
`.noinit`) stands for non-volatile memory.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import time
from dataclasses import dataclass
from pathlib import Path

from harness.errors import LinkError, WrongUseError
from harness.links.base import UNREAD_BYTES
from harness.links.child import ChildLink
from harness.links.emulator_file import ARM, AVR, check_elf
from harness.links.emulator_monitor import Monitor, MonitorError
from harness.links.emulator_placement import CoreApart, let_the_chip_give_way
from harness.links.placement import SharedCore

# The rest of a line follows within microseconds; one that is cut off shall not hold the bench up.
LINE_S = 0.05
NUDGE_S = 0.01


@dataclass(frozen=True)
class Board:
    """A machine of the emulator.

    Attributes
    ----------
    chip : for messages.
    elf_machine : `e_machine` of its programs (ELF specification).
    program, package : the emulator, and the Debian package it comes with.
    options : the machine, and the option that takes the firmware.
    never_sleeps : the emulated chip keeps a core busy while it waits.
    needs_nudge : the emulator may miss an interrupt, see `EmulatorLink.read`.
    reset_keeps_memory : a power cut is a reset of the machine.
    """

    chip: str
    elf_machine: int
    program: str
    package: str
    options: tuple[str, ...]
    never_sleeps: bool = False
    needs_nudge: bool = False
    reset_keeps_memory: bool = False


BOARDS = {
    "avr": Board(
        chip="ATmega328P",
        elf_machine=AVR,
        program="qemu-system-avr",
        package="qemu-system-misc",
        options=("-M", "uno", "-bios"),
        never_sleeps=True,
        needs_nudge=True,
    ),
    "arm": Board(
        chip="Cortex-M3",
        elf_machine=ARM,
        program="qemu-system-arm",
        package="qemu-system-arm",
        options=("-M", "lm3s6965evb", "-kernel"),
        reset_keeps_memory=True,
    ),
}


def open_emulator(text: str, kind: str, path: str) -> EmulatorLink:
    """Start the firmware of `path` on the board of `kind`. Raises WrongUseError, LinkError."""
    if not path:
        raise WrongUseError(f"{text}: no file. Write it after the colon, as in {kind}:firmware.elf.")
    board = BOARDS[kind]
    check_elf(text, Path(path), board.elf_machine, board.chip)
    return EmulatorLink(text, board, Path(path))


class EmulatorLink(ChildLink):
    """A board in an emulator that is a child process of this one, and ends with it."""

    program = "the emulator"
    gathers_s = LINE_S

    def __init__(self, text: str, board: Board, firmware: Path) -> None:
        self._pipes: list[int] = []
        self._monitor: Monitor | None = None
        self._core = CoreApart() if board.never_sleeps else SharedCore()
        self._board = board
        self.forgets = not board.reset_keeps_memory
        if shutil.which(board.program) is None:
            raise LinkError(
                f"{text}: the emulator {board.program} is not installed. "
                f"Install it; on Debian: apt install {board.package}"
            )
        command = [board.program, *board.options, str(firmware.resolve())]
        command += ["-nodefaults", "-display", "none", "-serial", "stdio"]
        super().__init__(text, [*_bound_to_this_process(), *command])

    def _join(self) -> tuple[subprocess.Popen[bytes], int, int]:
        stdin, out = os.pipe()
        into, stdout = os.pipe()
        self._pipes = [out, into]
        near, far = socket.socketpair()
        self._monitor = Monitor(near)
        chardev = f"socket,id=monitor,fd={far.fileno()}"
        words = ["-chardev", chardev, "-mon", "chardev=monitor,mode=control"]
        try:
            child = self._spawn(stdin, stdout, words, [far.fileno()])
        finally:
            os.close(stdin)
            os.close(stdout)
            far.close()
        self._core.share(child.pid)
        self._has_spoken = False
        return child, out, into

    def _part(self) -> None:
        self._core.release()
        if self._monitor is not None:
            self._monitor.close()
            self._monitor = None
        pipes, self._pipes = self._pipes, []
        for descriptor in pipes:
            os.close(descriptor)

    def _words(self) -> str:
        """What the emulator complained of, without its remarks at every start and its lists of registers."""
        said = self._last_words.splitlines()
        lines = [line for line in said if b"qemu" in line and b": warning: " not in line]
        self._last_words = b"\n".join(lines)
        if not lines:
            return " The firmware has probably left its code or memory. Try its host build with sanitizers."
        return super()._words()

    def read(self, timeout_s: float) -> bytes:
        """As `Link.read`; a line that comes byte by byte is given whole.

        QEMU 7.2 forgets an AVR interrupt that comes while another is served, until the firmware next touches
        a register. Firmware whose loop only looks at memory would wait for ever: when it is silent it is
        stopped and let go on, which changes nothing that it can see.
        """
        data = self._read_first(timeout_s)
        if not data:
            return b""
        if not self._has_spoken and self._child is not None:
            self._has_spoken = True
            let_the_chip_give_way(self._child.pid)
        deadline = time.monotonic() + LINE_S
        while not data.endswith(b"\n") and len(data) < UNREAD_BYTES:
            more = super().read(max(0.0, deadline - time.monotonic()))
            if not more:
                break
            data += more
        return data

    def _read_first(self, timeout_s: float) -> bytes:
        if not self._board.needs_nudge:
            return super().read(timeout_s)
        deadline, pause_s = time.monotonic() + timeout_s, NUDGE_S
        while True:
            left_s = deadline - time.monotonic()
            data = super().read(max(0.0, min(left_s, pause_s)))
            if data or left_s <= pause_s:
                return data
            self._nudge()
            pause_s *= 2

    def _nudge(self) -> None:
        if self._monitor is not None:
            self._monitor.tell("stop", "cont")

    def restart(self) -> None:
        """As `Link.restart`, as far as the machine has non-volatile memory; see above."""
        if self._monitor is None:
            raise LinkError(f"{self.text}: the link is closed.")
        if not (self._board.reset_keeps_memory and self._reset(self._monitor)):
            super().restart()

    def _reset(self, monitor: Monitor) -> bool:
        """Reset the machine; what it had sent and was not read is lost. False if the emulator has ended."""
        try:
            monitor.ask("stop")
            while super().read(0.0):
                pass
            monitor.ask("system_reset")
            monitor.ask("cont")
        except (MonitorError, LinkError):
            return False
        return True


def _bound_to_this_process() -> list[str]:
    """Words before a command that have Linux end it when this process is killed, however early."""
    if shutil.which("setpriv") is None:
        return []
    still_ours = 'test "$PPID" = "$1" && shift && exec "$@"'
    return ["setpriv", "--pdeathsig", "KILL", "sh", "-c", still_ours, "sh", str(os.getpid())]
