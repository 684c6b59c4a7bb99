"""Scenarios one after the other, each shown while it is played: unlit run --live.

The run is played in a process of its own, which only sends what it records; judging and drawing are done
here, so that a bench that keeps time is not kept waiting by a screen. Keys: m marks the present moment, s
stops as Ctrl-C does.
"""

from __future__ import annotations

import multiprocessing
import signal
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import Console, Group

from harness.bench.recorder import Column
from harness.bench.result import STOPPED, Event, RunResult
from harness.cli.job import SessionGoneError, answered, signals_held_back
from harness.cli.keys import has_keys, single_keys
from harness.cli.outcome import Outcome, Outcomes, play_one, stopped_early
from harness.errors import WrongUseError
from harness.logbook import Logbook
from harness.report.live.known import Known
from harness.report.live.screen import sheet

if TYPE_CHECKING:
    from harness.scenario import Scenario

DRAWN_EVERY_S = 0.2
MARK, STOP = "m", "s"
START = "fork" if sys.platform == "linux" else "spawn"


class Sender:
    """The run's side: a Watcher that sends all it sees and hears of marks."""

    def __init__(self, screen: Connection) -> None:
        self._screen = screen

    def begin(self, columns: Sequence[Column]) -> None:
        """Send names and units."""
        self._send(("columns", {column.name: column.unit for column in columns}))

    def chunk(self, times_ms: Any, values: Any) -> None:
        """Send rows."""
        self._send(("rows", times_ms, values))

    def event(self, event: Event) -> None:
        """Send an event."""
        self._send(("event", event))

    def over(self, t_ms: int) -> bool:
        """A person stops a run; it is not complete then."""
        return False

    def marks(self) -> int:
        """Marks that were asked for."""
        count = 0
        while self._screen.poll():
            try:
                self._screen.recv()
            except (EOFError, OSError) as error:
                raise SessionGoneError from error
            count += 1
        return count

    def _send(self, message: tuple[Any, ...]) -> None:
        try:
            self._screen.send(message)
        except OSError as error:
            raise SessionGoneError from error


def _work(
    run_scenario: Callable[..., RunResult],
    device: str | None,
    logbook: Path,
    scenario: Scenario,
    ends: tuple[Connection, Connection],
) -> None:
    theirs, screen = ends
    theirs.close()
    watched = partial(run_scenario, watcher=Sender(screen))
    play = partial(play_one, watched, device, Logbook(logbook))
    answer = answered(play, scenario, lambda t_ms, length_ms: None)
    if answer is not None:
        screen.send(answer)
    screen.close()


class Live:
    """Plays scenarios in turn and shows each on `console` as it goes."""

    def __init__(
        self, run_scenario: Callable[..., RunResult], device: str | None, logbook: Path, console: Console
    ) -> None:
        if not console.is_terminal:
            raise WrongUseError(
                "unlit run: --live draws on a terminal. Leave it out, or do not redirect the output."
            )
        if console.is_dumb_terminal:
            raise WrongUseError(
                "unlit run: --live draws over what it drew before, and this terminal (TERM) only writes on. "
                "Leave it out, or use another terminal."
            )
        self._words = (run_scenario, device, logbook)
        self._console = console
        self._ascii_only = not (console.encoding or "").lower().startswith("utf")

    def outcomes(self, scenarios: Sequence[Scenario]) -> Outcomes:
        """What became of each, as soon as it is over."""
        for scenario in scenarios:
            outcome = self._one(scenario)
            yield scenario, outcome
            if not outcome.goes_on:
                return

    def _one(self, scenario: Scenario) -> Outcome:
        context = multiprocessing.get_context(START)
        here, there = context.Pipe(duplex=True)
        words = (*self._words, scenario, (here, there))
        process = context.Process(target=_work, args=words, daemon=True)  # type: ignore[attr-defined]
        with signals_held_back():
            process.start()
            there.close()
        try:
            return self._follow(scenario, here, process)
        finally:
            if process.is_alive():
                process.kill()
            process.join()
            here.close()

    def _follow(self, scenario: Scenario, pipe: Connection, process: Any) -> Outcome:
        known: Known | None = None
        drawn_s = 0.0
        stop = _Stop(process)
        display = self._console.screen(hide_cursor=True)
        with stop.hearing_ctrl_c(), single_keys() as pressed, display as screen:
            while True:
                try:
                    said = pipe.recv() if wait([pipe], DRAWN_EVERY_S / 4) else None
                    if isinstance(said, Outcome):
                        return said
                    if isinstance(said, Exception):
                        raise said
                    known = _told(said, scenario, known)
                    for key in pressed().lower():
                        if key == MARK:
                            pipe.send(MARK)
                        elif key == STOP:
                            stop()
                except (EOFError, ConnectionError):
                    return self._died(scenario, process, stop)
                if known is not None and time.monotonic() - drawn_s >= DRAWN_EVERY_S:
                    drawn_s = time.monotonic()
                    size = self._console.size
                    looks = {"ascii_only": self._ascii_only, "keys": has_keys()}
                    screen.update(Group(*sheet(known, size.width, size.height, **looks)))

    def _died(self, scenario: Scenario, process: Any, stop: _Stop) -> Outcome:
        process.join()
        if stop.times:
            return Outcome(told=(f"{scenario.file}: {STOPPED}",), cut_off=True, goes_on=False)
        if process.exitcode in (0, -signal.SIGTERM):
            return stopped_early(scenario)
        what = f"the process that played it ended with {process.exitcode}"
        return Outcome(told=(f"{scenario.file}: inconclusive: {what}.",), cut_off=True)


class _Stop:
    """Called the first time it ends the run in order, as a person's Ctrl-C; the second time at once."""

    def __init__(self, process: Any) -> None:
        self._process, self.times = process, 0

    def __call__(self, *_: object) -> None:
        self.times += 1
        self._process.terminate() if self.times == 1 else self._process.kill()

    @contextmanager
    def hearing_ctrl_c(self) -> Iterator[None]:
        """Within, Ctrl-C calls this and interrupts nothing: not half a message, not half a screen."""
        before = signal.signal(signal.SIGINT, self)
        try:
            yield
        finally:
            signal.signal(signal.SIGINT, before)


def _told(said: Any, scenario: Scenario, known: Known | None) -> Known | None:
    """Take one message of the run."""
    if said is None:
        return known
    word, *rest = said
    if word == "columns":
        return Known(scenario, rest[0])
    if known is not None and word == "rows":
        known.chunk(*rest)
    elif known is not None and word == "event":
        known.event(rest[0])
    return known
