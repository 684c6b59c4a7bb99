"""A device that is a child process: its start, its end, its last words."""

from __future__ import annotations

import errno
import os
import shlex
import signal
import subprocess
import tempfile
import threading
import time
from abc import abstractmethod
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import NoReturn

from harness.errors import LinkError, WrongUseError
from harness.links.base import Link
from harness.links.descriptor import Descriptors

STDERR_KEPT_BYTES = 2048
END_GRACE_S = 1.0
MEMORY_VARIABLE = "UNLIT_NV"


def split_command(kind: str, command: str) -> list[str]:
    """The words of a command as a shell splits them. Raises WrongUseError if there are none."""
    text = f"{kind}:{command}"
    try:
        words = shlex.split(command)
    except ValueError as error:
        raise WrongUseError(f"{text}: {str(error).lower()}. Close each quote in the command.") from error
    if not words:
        raise WrongUseError(
            f"{text}: no command. Write the program after the colon, as in {kind}:./firmware."
        )
    return words


class ChildLink(Link):
    """A child process as a device; how it is joined to the bench is the subclass's part.

    The child's non-volatile memory is a file of the link's own: its path is in the environment as UNLIT_NV,
    and stands for `{nv}` in the command's words. The file is gone with the link.
    """

    #: What the child is, for messages.
    program = "the device's program"

    def __init__(self, text: str, command: Sequence[str]) -> None:
        super().__init__(text)
        self._folder = tempfile.TemporaryDirectory(prefix="unlit-", ignore_cleanup_errors=True)
        memory = str(Path(self._folder.name) / "nv")
        self._command = [memory if word == "{nv}" else word for word in command]
        self._environment = os.environ | {MEMORY_VARIABLE: memory}
        self._child: subprocess.Popen[bytes] | None = None
        self._ends: Descriptors | None = None
        _outlive_broken_pipes()
        self._last_words = b""
        try:
            self._start()
        except BaseException:
            self.close()
            raise

    @abstractmethod
    def _join(self) -> tuple[subprocess.Popen[bytes], int, int]:
        """Start the child by `_spawn`; give it, the descriptor to write to and the one to read from."""

    @abstractmethod
    def _part(self) -> None:
        """Close what `_join` opened. May be called more than once."""

    def _start(self) -> None:
        self._child, out, into = self._join()
        self._ends = Descriptors(self.text, out, into, self._gone)
        assert self._child.stderr is not None
        self._ends.watch_aside(self._child.stderr.fileno(), self._hear_stderr)

    def _spawn(
        self, stdin: int, stdout: int, words: Sequence[str] = (), keep: Sequence[int] = ()
    ) -> subprocess.Popen[bytes]:
        """The child, in a session of its own: a person's Ctrl-C is for the bench, not for the device.

        `words` go behind the command's own; the descriptors of `keep` stay open for the child.
        """
        try:
            return subprocess.Popen(
                [*self._command, *words],
                pass_fds=keep,
                stdin=stdin,
                stdout=stdout,
                stderr=subprocess.PIPE,
                bufsize=0,
                env=self._environment,
                start_new_session=True,
            )
        except OSError as error:
            raise LinkError(f"{self.text}: {self._why_not_started(error)}") from error

    def _why_not_started(self, error: OSError) -> str:
        program = self._command[0]
        if Path(program).is_dir():
            return f"{program!r} is a folder. Name the program in it."
        if error.errno == errno.ENOENT and not Path(program).exists():
            return (
                f"there is no program {program!r}. Check the path (it counts from this folder) or build it."
            )
        if error.errno == errno.ENOENT and "/" not in program:  # looked for on the PATH alone
            kind = self.text.partition(":")[0]
            return f"{program!r} is a file of this folder. Write {kind}:./{program}"
        if error.errno == errno.ENOENT:
            return f"{program!r} names an interpreter that does not exist. Check its first line."
        if error.errno == errno.EACCES:
            return f"{program!r} may not be run. Make it executable: chmod +x {shlex.quote(program)}"
        if error.errno == errno.ENOEXEC:
            return (
                f"{program!r} is no program for this machine. Build it for this computer, not for the board."
            )
        return f"{program!r} did not start: {error.strerror}."

    def _hear_stderr(self) -> bool:
        """Read what the child complains of; keep the end of it."""
        assert self._child is not None
        assert self._child.stderr is not None
        try:
            data = os.read(self._child.stderr.fileno(), 65536)
        except BlockingIOError:
            return True
        self._last_words = (self._last_words + data)[-STDERR_KEPT_BYTES:]
        return bool(data)

    def _gone(self, why: str) -> NoReturn:
        """The child has closed its end: say how it ended."""
        assert self._child is not None
        ended = _wait_for_end(self._child, END_GRACE_S)
        with suppress(OSError):
            self._hear_stderr()
        raise LinkError(f"{self.text}: {_how_ended(self.program, ended)}.{self._words()}")

    def _words(self) -> str:
        lines = [line for line in self._last_words.decode("utf-8", "replace").splitlines() if line.strip()]
        if not lines:
            return " It said nothing on stderr. Run it by hand to see why."
        # The device's words are untrusted: nothing but printable ASCII reaches a terminal.
        return f" Its last words: {' / '.join(line.strip() for line in lines[-3:])[-400:]!a}"

    def write(self, data: bytes) -> None:
        """As `Link.write`."""
        if self._ends is None:
            raise LinkError(f"{self.text}: the link is closed.")
        self._ends.write(data)

    def read(self, timeout_s: float) -> bytes:
        """As `Link.read`."""
        if self._ends is None:
            raise LinkError(f"{self.text}: the link is closed.")
        return self._ends.read(timeout_s)

    def restart(self) -> None:
        """Kill the child without warning, as a power cut does, and start it afresh."""
        if self._child is None:
            raise LinkError(f"{self.text}: the link is closed.")
        self._end_child(at_once=True)
        self._last_words = b""
        self._start()

    def close(self) -> None:
        """End the child and wait for it."""
        self._end_child(at_once=False)
        self._folder.cleanup()

    def _end_child(self, at_once: bool) -> None:
        self._ends = None
        self._part()
        child, self._child = self._child, None
        if child is None:
            return
        # Until `wait` has collected the child its number is not given to another process.
        if not at_once:
            _signal_session(child, signal.SIGTERM)
            _wait_for_end(child, END_GRACE_S)
        _signal_session(child, signal.SIGKILL)
        child.wait()
        if child.stderr is not None:
            child.stderr.close()


def _outlive_broken_pipes() -> None:
    """Let a child that is gone be an error and no SIGPIPE: a library in this process may have undone that."""
    here = threading.current_thread() is threading.main_thread()
    if here and hasattr(signal, "SIGPIPE") and signal.getsignal(signal.SIGPIPE) is signal.SIG_DFL:
        signal.signal(signal.SIGPIPE, signal.SIG_IGN)  # as Python itself does at its start


def _signal_session(child: subprocess.Popen[bytes], number: int) -> None:
    """Signal the child and what it started."""
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(child.pid, number)


def _exit_code(child: subprocess.Popen[bytes]) -> int | None:
    """As `Popen.poll`, but where the system can the child is not collected yet."""
    if child.returncode is not None or not hasattr(os, "waitid"):
        return child.poll()
    ended = os.waitid(os.P_PID, child.pid, os.WEXITED | os.WNOWAIT | os.WNOHANG)
    if ended is None:
        return None
    return ended.si_status if ended.si_code == os.CLD_EXITED else -ended.si_status


def _wait_for_end(child: subprocess.Popen[bytes], timeout_s: float) -> int | None:
    """The exit code, None if the child has not ended in time."""
    deadline = time.monotonic() + timeout_s
    pause_s = 0.0005
    while True:
        code = _exit_code(child)
        if code is not None or time.monotonic() >= deadline:
            return code
        time.sleep(pause_s)
        pause_s = min(2 * pause_s, 0.05)


def _how_ended(program: str, code: int | None) -> str:
    if code is None:
        return f"{program} closed its line but goes on running"
    if code >= 0:
        return f"{program} ended with exit code {code}"
    try:
        name = signal.Signals(-code).name
    except ValueError:
        name = f"signal {-code}"
    return f"{program} was ended by {name}"
