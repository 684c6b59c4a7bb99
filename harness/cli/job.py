"""The side of one job: a process that plays one scenario and sends what became of it.

It sends any number of `(bench time, length)` [ms] and at last an Outcome, or the exception that is a fault of
unlit. The session alone hears a person's Ctrl-C, which a terminal sends to every process, and passes it on
once as SIGTERM: so a job is stopped once only, and not while its answer is on the way.
"""

from __future__ import annotations

import signal
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from types import FrameType
from typing import TYPE_CHECKING

from harness.cli.outcome import Outcome, Progress, stopped_early
from harness.links.placement import settle

if TYPE_CHECKING:
    from harness.scenario import Scenario

#: Held back around the start of a job, until it has handlers of its own.
HELD_BACK = (signal.SIGINT, signal.SIGTERM)


@contextmanager
def signals_held_back() -> Iterator[None]:
    """Within, this thread and what it starts hear none of `HELD_BACK`, where the system can do that."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    held = signal.pthread_sigmask(signal.SIG_BLOCK, HELD_BACK)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, held)

#: Between two reports of how far the run is. [s]
REPORT_EVERY_S = 0.2


class SessionGoneError(Exception):
    """Nobody waits for this run any more; unwinding it ends its device, and the run shows as interrupted."""


class _Reports:
    """Sends how far the run is. A report is far below PIPE_BUF, so an interrupt never leaves half of one."""

    def __init__(self, session: Connection) -> None:
        self._session, self._last = session, time.monotonic()

    def __call__(self, t_ms: int, length_ms: int) -> None:
        now = time.monotonic()
        if now - self._last < REPORT_EVERY_S:
            return
        self._last = now
        try:
            self._session.send((t_ms, length_ms))
        except OSError as error:
            raise SessionGoneError from error


class _Stop:
    """Handler of SIGTERM: the first one interrupts the run while it is `armed`, others do nothing."""

    armed = True

    def __call__(self, number: int, frame: FrameType | None) -> None:
        armed, self.armed = self.armed, False
        if armed:
            raise KeyboardInterrupt


def work(
    play: Callable[[Scenario, Progress], Outcome],
    scenario: Scenario,
    core: int | None,
    ends: tuple[Connection, Connection],
) -> None:
    """Play `scenario` on `core` and send the outcome; `ends` of the pipe: the session's and this one's."""
    theirs, session = ends
    theirs.close()  # a fork copies it; with it open a session that is gone would not be noticed
    settle(core)
    answer = answered(play, scenario, _Reports(session))
    if answer is not None:
        session.send(answer)
    session.close()


def answered(
    play: Callable[[Scenario, Progress], Outcome], scenario: Scenario, reports: Progress
) -> Outcome | Exception | None:
    """What came of playing it in this process, stopped by SIGTERM; None where nobody waits any more."""
    stop = _Stop()
    try:
        try:
            _listen(stop)
            return play(scenario, reports)
        finally:
            stop.armed = False
    except KeyboardInterrupt:
        return stopped_early(scenario)
    except SessionGoneError:
        return None
    except Exception as error:
        return _as_sent(error)


def _listen(stop: _Stop) -> None:
    # No SIG_IGN: the device's program would inherit it, and the mask too.
    signal.signal(signal.SIGINT, lambda number, frame: None)
    signal.signal(signal.SIGTERM, stop)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, HELD_BACK)


def _as_sent(error: Exception) -> Exception:
    """The exception with its traceback as a note, or one that says the same and can be sent."""
    import pickle

    trace = traceback.format_exc()
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        error = RuntimeError(f"{type(error).__name__}: {error}")
    error.add_note(trace)
    return error
