"""The files that `unlit run` leaves for machines: --json, --junit, --summary.

They are written before the first run, as not finished and not passed, and anew as the session goes: a path
that cannot be written is told before anything is played, and a session that is killed leaves no pass of an
earlier one.
"""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from harness.cli.whole_file import cannot_write, special, whole_file
from harness.errors import UnlitError, WrongUseError

if TYPE_CHECKING:
    from harness.report.account import SessionAccount

#: Names the file that GitHub shows below a job; several steps and programs add to it.
ADDED_TO = "GITHUB_STEP_SUMMARY"

#: Of a session's time that may go into writing all anew, beside the first second of it.
SHARE = 0.05


class ResultFileError(UnlitError):
    """A result file could not be written: nobody can read there what the session showed."""


class ResultFiles:
    """The files that were asked for, by the option's name; None where one was not.

    `others` are files of the session that must stay as they are. WrongUseError where one is named, or one
    file twice.
    """

    def __init__(self, paths: Mapping[str, Path | None], others: Iterable[Path | str] = ()) -> None:
        self._paths = {option: path for option, path in paths.items() if path is not None}
        taken = {os.path.realpath(other): f"what {other} holds is needed" for other in others}
        for option, path in self._paths.items():
            why = taken.setdefault(os.path.realpath(path), f"--{option} names it too")
            if why != f"--{option} names it too":
                raise WrongUseError(f"unlit run: --{option} {path}: {why}. Name another file.")
        self._begun, self._spent = time.monotonic(), 0.0
        self._before = {path: _kept(path) for path in self._paths.values()}

    def __bool__(self) -> bool:
        return bool(self._paths)

    def begin(self, session: SessionAccount) -> None:
        """Write all as not finished; WrongUseError where one cannot be written."""
        try:
            self._write(session, finished=False)
        except OSError as error:
            raise WrongUseError(f"unlit run: {cannot_write(error.filename, error)}") from None

    def renew(self, session: SessionAccount) -> None:
        """Write all anew amid a session, if there is time. What cannot be written now is told at the end."""
        begun = time.monotonic()
        if self._spent > 1 + SHARE * (begun - self._begun):
            return
        with contextlib.suppress(OSError):
            self._write(session, finished=False)
        self._spent += time.monotonic() - begun

    def end(self, session: SessionAccount) -> None:
        """Write all for the last time; ResultFileError where one cannot be written."""
        try:
            self._write(session, finished=True)
        except OSError as error:
            raise ResultFileError(f"unlit run: {cannot_write(error.filename, error)}") from None

    def _write(self, session: SessionAccount, *, finished: bool) -> None:
        for option, path in self._paths.items():
            text = self._before[path] + _writers()[option](session)
            try:
                _write(path, text.encode("utf-8", "replace"), finished=finished)
            except OSError as error:
                error.filename = f"--{option} {path}"
                raise


def _writers() -> Mapping[str, Callable[[SessionAccount], str]]:
    from harness.report.json_results import as_json
    from harness.report.junit import as_junit
    from harness.report.markdown import as_markdown

    return {"json": as_json, "junit": as_junit, "summary": as_markdown}


def _kept(path: Path) -> str:
    """What must stay in front: only the job summary is added to, every other file replaced."""
    shared = os.environ.get(ADDED_TO)
    try:
        if shared and path.samefile(shared):
            return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        pass
    return ""


def _write(path: Path, content: bytes, *, finished: bool) -> None:
    """Replace the file as a whole, or not at all; a device or a pipe is written to once, at the end."""
    if finished or not special(path):
        with whole_file(path) as part:
            part.write_bytes(content)
