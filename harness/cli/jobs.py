"""Several scenarios at once, each in a process of its own, and their outcomes in the scenarios' order.

A process plays one scenario only: what a device or a plant leaves behind, or a crash of a `lib:` device, is
nobody else's. Measured on Linux 6.18 with all scenarios loaded: a process by fork costs 3 ms of CPU time, a
fresh interpreter (spawn) 0.4 s.
"""

from __future__ import annotations

import multiprocessing
import signal
import sys
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from types import FrameType
from typing import TYPE_CHECKING

from harness.bench.result import STOPPED
from harness.cli.job import signals_held_back, work
from harness.cli.outcome import Outcome, Outcomes, Progress
from harness.links.placement import current_core, usable_cores
from harness.report.figures import clock
from harness.report.progress import SessionProgress

if TYPE_CHECKING:
    from harness.scenario import Scenario

#: Elsewhere a fork is not safe: the system's libraries below numpy keep threads of their own.
START = "fork" if sys.platform == "linux" else "spawn"


@dataclass
class _Job:
    index: int
    scenario: Scenario
    slot: int
    process: BaseProcess
    reader: Connection
    t_ms: int = 0


class Jobs:
    """Plays scenarios `count` at a time; `play` is `play_one` with its device and logbook."""

    def __init__(
        self, play: Callable[[Scenario, Progress], Outcome], count: int, progress: SessionProgress
    ) -> None:
        self._play, self._progress = play, progress
        self._context = multiprocessing.get_context(START)
        self._free = list(range(count))
        self._cores = _in_turn()
        self._running: list[_Job] = []
        self._interrupts = 0
        self._goes_on = True
        self._played_ms = 0

    def outcomes(self, scenarios: Sequence[Scenario]) -> Outcomes:
        """What became of each scenario that was begun, in their order, as soon as it is its turn.

        After an outcome that does not go on, or Ctrl-C, no other is begun. Ctrl-C stops the runs, a second
        one kills them. Closing the iterator stops them too; no process is left behind.
        """
        waiting, ready, turn = deque(enumerate(scenarios)), dict[int, Outcome](), 0
        _load()
        with self._hearing_ctrl_c():
            try:
                while self._running or (waiting and self._goes_on):
                    while waiting and self._free and self._goes_on:
                        self._start(*waiting.popleft())
                    ready.update(self._collect())
                    self._show(len(scenarios) - len(waiting) - len(self._running))
                    while turn in ready:
                        self._progress.clear()
                        yield scenarios[turn], ready.pop(turn)
                        turn += 1
            finally:
                self._end()

    def _start(self, index: int, scenario: Scenario) -> None:
        slot = self._free.pop(0)
        reader, writer = self._context.Pipe(duplex=False)
        core = self._cores[slot % len(self._cores)] if self._cores else None
        words = (self._play, scenario, core, (reader, writer))
        process = self._context.Process(target=work, args=words, daemon=True)  # type: ignore[attr-defined]
        # The writer is closed so that the job holds the only one, and its end is seen.
        with signals_held_back(), closing(writer):
            process.start()
            self._running.append(_Job(index, scenario, slot, process, reader))
            if self._interrupts:  # heard just before the signals were held back
                process.terminate()

    def _collect(self) -> Iterator[tuple[int, Outcome]]:
        """Wait until a job says something; the outcomes among it."""
        heard = wait([job.reader for job in self._running])
        for job in [job for job in self._running if job.reader in heard]:
            said = self._hear(job)
            if isinstance(said, tuple):
                job.t_ms = said[0]
                continue
            self._collected(job)
            if isinstance(said, Exception):
                raise said
            outcome = said or self._died(job)
            self._goes_on = self._goes_on and outcome.goes_on
            yield job.index, outcome

    @staticmethod
    def _hear(job: _Job) -> Outcome | Exception | tuple[int, int] | None:
        try:
            said: Outcome | Exception | tuple[int, int] = job.reader.recv()
        except (EOFError, OSError):
            return None
        return said

    def _collected(self, job: _Job) -> None:
        job.process.join()
        job.reader.close()
        self._running.remove(job)
        self._free.append(job.slot)
        self._played_ms += job.scenario.length_ms

    def _died(self, job: _Job) -> Outcome:
        """The outcome of a job that said none."""
        if self._interrupts:
            return Outcome(told=(f"{job.scenario.file}: {STOPPED}",), cut_off=True, goes_on=False)
        what = f"{_ended(job.process.exitcode)} at about {clock(job.t_ms)} of bench time"
        mend = "If nobody killed it, play this scenario alone; a device by lib: first by run:."
        told = (f"{job.scenario.file}: inconclusive: the process that played it {what}.", mend)
        return Outcome(told=told, cut_off=True)

    def _show(self, played: int) -> None:
        self._progress.show(played, self._played_ms + sum(job.t_ms for job in self._running))

    @contextmanager
    def _hearing_ctrl_c(self) -> Iterator[None]:
        before = signal.getsignal(signal.SIGINT)
        if before is not signal.SIG_IGN:
            signal.signal(signal.SIGINT, self._interrupt)
        try:
            yield
        finally:
            signal.signal(signal.SIGINT, before)

    def _interrupt(self, number: int, frame: FrameType | None) -> None:
        self._interrupts += 1
        self._goes_on = False
        for job in list(self._running):
            job.process.terminate() if self._interrupts == 1 else job.process.kill()

    def _end(self) -> None:
        """Stop what still runs, unheard."""
        self._progress.clear()
        for job in self._running:
            job.process.terminate()
            job.reader.close()
        for job in self._running:
            job.process.join()
        self._running.clear()


def _load() -> None:
    """Load once what every run loads late, so that not each job does."""
    import numpy.ma  # noqa: F401 - by numpy.unique

    import harness.logbook.writer  # noqa: F401


def _in_turn() -> list[int]:
    """The usable cores from the current one on: two sessions at once begin on different ones."""
    cores, here = usable_cores(), current_core()
    at = cores.index(here) if here in cores else 0
    return cores[at:] + cores[:at]


def _ended(code: int | None) -> str:
    if code is None or code >= 0:
        return f"ended with exit code {code}"
    try:
        return f"was ended by {signal.Signals(-code).name}"
    except ValueError:
        return f"was ended by signal {-code}"
