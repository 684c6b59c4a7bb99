"""The last lines of `unlit run`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.console import RenderableType
from rich.text import Text

from harness.assertions.verdict import Outcome, Status
from harness.bench.result import RunResult
from harness.report.advice import CAUTION
from harness.report.console import style
from harness.report.figures import count
from harness.report.plain import plain


def summary(
    results: Sequence[RunResult],
    logbook: Path,
    *,
    not_run: int = 0,
    cut_off: int = 0,
    as_expected: int | None = None,
) -> Iterator[RenderableType]:
    """Counts of runs and assertions, where they are kept, and the caution.

    `not_run` scenarios were not played, `cut_off` were begun but have no result; `as_expected` runs ended as
    their scenarios state, where that was compared.
    """
    statuses = Counter(result.status for result in results)
    outcomes = Counter(verdict.outcome for result in results for verdict in result.verdicts)
    line = Text(f"{count(len(results), 'run')}: ")
    parts = [(f"{statuses[s]} {s}", style(s)) for s in Status if statuses[s]]
    if cut_off:
        parts.append((f"{count(cut_off, 'scenario')} cut off", "yellow"))
    if not_run:
        parts.append((f"{count(not_run, 'scenario')} not played", "yellow"))
    for position, part in enumerate(parts):
        line.append(", " if position else "").append(*part)
    line.append("; assertions: ")
    line.append(", ".join(f"{outcomes[o]} {o}" for o in Outcome if outcomes[o]) or "none judged")
    if as_expected is not None:
        line.append(f"; {as_expected} of {len(results) + not_run + cut_off} as expected")
    yield line
    if results:
        numbers = [result.run_id for result in results]
        first, last = min(numbers), max(numbers)
        runs = f"run {first}" if first == last else f"runs {first} to {last}"
        yield Text(f"kept as {runs} in {plain(str(logbook))}", "dim")
    yield Text(CAUTION)
