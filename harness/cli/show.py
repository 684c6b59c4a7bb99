"""unlit show"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from harness.cli.options import DEFAULT_LOGBOOK, LogbookOption, Whole

if TYPE_CHECKING:
    from harness.logbook import RunRecord

#: Lines that fit a screen, when a person has not said how far apart values shall be.
LINES = 40
AROUND_MS = 10_000


def show(
    run: Whole,
    /,
    *,
    signal: Annotated[list[str] | None, Parameter(negative=())] = None,
    around: str | None = None,
    every: str | None = None,
    events: Annotated[bool, Parameter(negative=())] = False,
    scenario: Annotated[bool, Parameter(negative=())] = False,
    logbook: LogbookOption = DEFAULT_LOGBOOK,
) -> int:
    """Show one run: what was played, verdicts, events, signals.

    Parameters
    ----------
    run
        Its number, as `unlit runs` lists it.
    signal
        Print the values of this signal; may be given several times.
    around
        Only ten seconds before and after this bench time, as mm:ss.
    every
        How far apart values are, such as "1 s".
    events
        Print every event.
    scenario
        Print the scenario file as it was played, and nothing else.
    """
    from harness.logbook import Logbook

    record = Logbook(logbook).read(run)
    window = None if around is None else _window(around)
    if scenario:
        print(record.summary.meta.scenario_text, end="")
    elif signal:
        _values(record, signal, window, None if every is None else _step_ms(every))
    else:
        _sheet(record, window, events)
    return 0


def _sheet(record: RunRecord, window: tuple[int, int] | None, all_events: bool) -> None:
    from harness.report.advice import CAUTION
    from harness.report.block import run_block
    from harness.report.console import console
    from harness.report.record import about, as_result, events_table, sparks

    out = console()
    result = as_result(record)
    for line in run_block(result):
        out.print(line)
    out.print(about(record))
    if record.summary.end.digest not in ("", record.computed_digest()):
        out.print("the signals read back are not those that were judged: the file was altered or damaged")
    if all_events or window:
        low, high = window or (0, sys.maxsize)
        out.print(events_table([event for event in result.events if low <= event.t_ms <= high]))
    ascii_only = not (out.encoding or "").lower().startswith("utf")
    for line in sparks(record, ascii_only=ascii_only):
        out.print(line)
    out.print(CAUTION)


def _values(record: RunRecord, names: list[str], window: tuple[int, int] | None, step_ms: int | None) -> None:
    import numpy as np

    from harness.report.plain import plain
    from harness.report.record import signal_table

    times, columns = record.signals(names)
    if not len(times):
        print(f"run {record.summary.run_id} recorded no values")
        return
    low, high = window or (int(times[0]), int(times[-1]))
    low, high = max(low, int(times[0])), min(high, int(times[-1]))
    instants = np.arange(low, high + 1, step_ms or max(1, (high - low) // LINES))
    rows = np.searchsorted(times, instants, side="right") - 1  # the last row at a time holds from then on
    shown = {name: values[rows] for name, values in columns.items()}
    for line in signal_table(instants, shown, dict(record.units)):
        print(plain(line))


def _window(text: str) -> tuple[int, int]:
    """Ten seconds to both sides of `mm:ss` or `mm:ss.s`, in ms."""
    from harness.errors import WrongUseError

    minutes, _, seconds = text.partition(":")
    try:
        middle = round((int(minutes) * 60 + float(seconds)) * 1000)
    except ValueError:
        raise WrongUseError(
            f"unlit show: --around {text} is no bench time. Write it as mm:ss, such as 08:04."
        ) from None
    return middle - AROUND_MS, middle + AROUND_MS


def _step_ms(text: str) -> int:
    from harness.errors import WrongUseError
    from harness.quantity import QuantityError, parse_ms

    try:
        step_ms = parse_ms(text)
    except QuantityError as error:
        raise WrongUseError(f"unlit show: --every {text}: {error}") from None
    if step_ms < 1:
        raise WrongUseError(f"unlit show: --every {text} is too short. Give 1 ms or more.")
    return step_ms
