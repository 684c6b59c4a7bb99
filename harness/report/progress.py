"""How far a long run has come, on standard error and only where a person watches."""

from __future__ import annotations

import time
from types import TracebackType

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TextColumn

from harness.report.figures import clock
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
        rate = t_ms / self._every_ms / elapsed
        note = f"{clock(t_ms)} / {clock(length_ms)}  {rate:.0f} exchanges/s"
        self._progress.update(self._task, completed=t_ms, note=note)

    def _show(self, length_ms: int) -> Progress:
        columns = (
            TextColumn("{task.description}", markup=False),
            BarColumn(14),
            TextColumn("{task.fields[note]}", markup=False),
        )
        progress = Progress(*columns, console=self._console, transient=True)
        self._task = progress.add_task(self._title[:22], total=length_ms, note="")
        progress.start()
        return progress

    def __enter__(self) -> RunProgress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._progress is not None:
            self._progress.stop()
