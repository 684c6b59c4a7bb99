"""unlit compare"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from harness.cli.options import DEFAULT_LOGBOOK, LogbookOption

if TYPE_CHECKING:
    from harness.logbook import RunRecord
    from harness.report.comparison.tolerance import Tolerance

COMMAND = "compare"
_RUNS = re.compile(r"[0-9]{1,18}(-[0-9]{1,18})?")


def compare(
    *runs: str,
    baseline: Path | None = None,
    tolerance: Annotated[list[str] | None, Parameter(negative=())] = None,
    signal: str | None = None,
    logbook: LogbookOption = DEFAULT_LOGBOOK,
) -> int:
    """Compare two runs, or runs with a stored baseline: what is worse, better, cannot be told.

    Exit code 1 if anything is worse, 3 if something cannot be told, else 0. `unlit run --baseline` plays
    and compares at once.

    Parameters
    ----------
    runs
        Two numbers of `unlit runs`, the earlier first; with --baseline one or more, such as 3 or 3-61.
    baseline
        A file that `unlit run --keep-baseline` has written.
    tolerance
        By how much a margin or figure may shrink: a share such as "10 %" (without it), or a quantity such as
        "0.5 s" for margins of its kind; may be given several times.
    signal
        Of two runs: the signal to draw. Without it, the one that went furthest apart.
    """
    from harness.cli.baselines import tolerance_of
    from harness.errors import WrongUseError
    from harness.logbook import Logbook

    asked = [_numbers(word) for word in runs]
    allowed = tolerance_of(COMMAND, tolerance)
    book = Logbook(logbook)
    if baseline is not None:
        if not asked:
            raise WrongUseError("unlit compare: name the runs to compare with it, such as 3 or 3-61.")
        if signal is not None:
            raise WrongUseError("unlit compare: --signal draws a signal of two runs, not of a baseline.")
        # One by one: the first that is not there ends it, however far the words go on.
        return _with_baseline([book.read(number) for part in asked for number in part], baseline, allowed)
    numbers = [number for part in asked for number in part[:3]]
    if len(numbers) != 2 or numbers[0] == numbers[1]:
        raise WrongUseError(
            "unlit compare: name two runs, as in `unlit compare 3 7`, or runs and a --baseline."
        )
    return _two(book.read(numbers[0]), book.read(numbers[1]), allowed, signal)


def _numbers(word: str) -> range:
    """`3`, or `3-61` for all from 3 to 61."""
    from harness.errors import WrongUseError

    first, _, last = word.partition("-")
    if not _RUNS.fullmatch(word) or int(first) > int(last or first):
        raise WrongUseError(
            f"unlit compare: {word} is no run. Write its number in `unlit runs`, such as 3, or 3-61 for many."
        )
    return range(int(first), int(last or first) + 1)


def _two(before: RunRecord, after: RunRecord, allowed: Tolerance, signal: str | None) -> int:
    from harness.cli.given import known_name
    from harness.report.advice import CAUTION
    from harness.report.comparison.changes import compare, exit_code
    from harness.report.comparison.side import side_of
    from harness.report.comparison.two_runs import two_runs
    from harness.report.console import console

    if signal is not None:
        shared = [name for name in before.names if before.units[name] == after.units.get(name)]
        known_name(COMMAND, "signal in both runs", signal, shared)
    compared = compare(side_of(before), side_of(after), allowed)
    out = console()
    for line in two_runs(compared, before, after, signal, out.width):
        out.print(line)
    out.print(f"`unlit page {before.summary.run_id} {after.summary.run_id}` puts both on one page.")
    out.print(CAUTION)
    return exit_code([compared])


def _with_baseline(records: list[RunRecord], path: Path, allowed: Tolerance) -> int:
    from harness.errors import WrongUseError
    from harness.report.advice import CAUTION
    from harness.report.comparison.baseline import named_from
    from harness.report.comparison.changes import compare_all, exit_code
    from harness.report.comparison.read import read_baseline
    from harness.report.comparison.side import side_of
    from harness.report.comparison.told import session_blocks
    from harness.report.console import console

    known = read_baseline(path)
    sides = [side_of(record, named_from(path, record.summary.meta.scenario_file)) for record in records]
    by_name = {side.scenario: side for side in sides}
    for side in sides:
        if by_name[side.scenario] is not side:
            twice = f"runs {side.run} and {by_name[side.scenario].run} are both of {side.scenario}"
            raise WrongUseError(f"unlit compare: {twice}. Name one of them.")
    compared = compare_all(known.sides, sides, allowed)
    out = console()
    for line in session_blocks(compared, known, str(path)):
        out.print(line)
    out.print(CAUTION)
    return exit_code(compared)
