"""How far a long run has come, on standard error and only where a person watches."""

from __future__ import annotations

import time
from types import TracebackType

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TextColumn

from harness.report.figures import clock, count
from harness.report.plain import plain

#: A run shorter than this shows nothing. [s]
PATIENCE_S = 0.7


class RunProgress:
    """Called by the bench with (bench time, length) in ms; used in a `with` around one run.

    `exchange_every_ms` turns bench time into exchanges for the rate shown.
    """

    def __init__(self, console: Console, title: str, exchange_every_ms: int) -> None:
        self._console = console
        self._title = plain(title)
        self._every_ms = max(1, exchange_every_ms)
        self._begun = time.monotonic()
        self._progress: Progress | None = None
        self._task = TaskID(0)

    def __call__(self, t_ms: int, length_ms: int) -> None:
        elapsed = time.monotonic() - self._begun
        if not self._console.is_terminal or elapsed < PATIENCE_S:
            return
        if self._progress is None:
            self._progress = self._show(length_ms)
        self._progress.update(self._task, completed=t_ms, note=self._note(t_ms, length_ms, elapsed))

    def _note(self, t_ms: int, length_ms: int, elapsed: float) -> str:
        rate = t_ms / self._every_ms / elapsed
        return f"{clock(t_ms)} / {clock(length_ms)}  {rate:.0f} exchanges/s"

    def _show(self, length_ms: int) -> Progress:
        columns = (
            TextColumn("{task.description}", markup=False),
            BarColumn(14),
            TextColumn("{task.fields[note]}", markup=False),
        )
        progress = Progress(*columns, console=self._console, transient=True)
        self._task = progress.add_task(self._title[:22], total=length_ms or None, note="")
        progress.start()
        return progress

    def __enter__(self) -> RunProgress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._progress is not None:
            self._progress.stop()


class CountProgress(RunProgress):
    """The same for things that are counted: called with (how many are done, how many in all; 0: unknown)."""

    def __init__(self, console: Console, title: str, things: str) -> None:
        super().__init__(console, title, 1)
        self._things = things

    def _note(self, t_ms: int, length_ms: int, elapsed: float) -> str:
        return f"{t_ms} of {length_ms} {self._things}" if length_ms else f"{t_ms} {self._things}"


class SessionProgress:
    """How far several runs at once have come together.

    There are `scenarios` of them, `length_ms` of bench time in all. It draws when told to and has no thread
    of its own: a fork must not copy one.
    """

    def __init__(self, console: Console, scenarios: int, length_ms: int) -> None:
        self._console = console
        self._scenarios, self._length_ms = scenarios, length_ms
        self._begun = time.monotonic()
        self._progress: Progress | None = None

    def show(self, played: int, t_ms: int) -> None:
        """Draw the line anew: `played` scenarios are over, `t_ms` of bench time is behind all together."""
        if not self._console.is_terminal or time.monotonic() - self._begun < PATIENCE_S:
            return
        note = f"{played} of {count(self._scenarios, 'scenario')}  {clock(t_ms)} / {clock(self._length_ms)}"
        if self._progress is not None:
            self._progress.update(TaskID(0), completed=t_ms, description=note, refresh=True)
            return
        columns = (BarColumn(14), TextColumn("{task.description}", markup=False))
        self._progress = Progress(*columns, console=self._console, transient=True, auto_refresh=False)
        self._progress.add_task(note, total=self._length_ms, completed=t_ms)
        self._progress.start()

    def clear(self) -> None:
        """Take the line away; the next `show` draws it again."""
        if self._progress is not None:
            self._progress.stop()
            self._progress = None
