"""One run as a block of lines: what was played, and a line for each assertion."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from harness.assertions.verdict import Status, Verdict
from harness.bench.result import RunResult
from harness.report.advice import advice
from harness.report.columns import table
from harness.report.console import style
from harness.report.figures import clock, margin, wall
from harness.report.moments import moments
from harness.report.plain import plain


def _indented(renderable: RenderableType) -> Padding:
    return Padding(renderable, (0, 0, 0, 2), expand=False)


def run_block(result: RunResult, *, expected: str | None = None) -> Iterator[RenderableType]:
    """The lines of one run; notes, reasons, a time line and the next step follow unless it passed.

    `expected` is the status the scenario states, where it is to be compared: a difference is said.
    """
    yield _head(result)
    yield _indented(_about(result))
    if expected not in (None, result.status):
        yield _indented(Text(f"the scenario expects {expected}", "bold red"))
    yield _indented(_table(result.verdicts))
    if result.status is Status.PASS:
        yield from (_indented(Text(f"mind: {plain(text)}")) for text in result.warnings)
    else:
        yield from _why(result)


def _head(result: RunResult) -> Table:
    grid = Table.grid(padding=(0, 2), expand=True)
    grid.add_column(no_wrap=True)
    grid.add_column(ratio=1, overflow="fold")
    grid.add_column(no_wrap=True, justify="right")
    status = Text(result.status, style(result.status))
    grid.add_row(status, Text(plain(result.title), "bold"), Text(f"run {result.run_id}"))
    return grid


def _about(result: RunResult) -> Text:
    """Which scenario against which device, how much bench time in how much wall time."""
    took = f"{clock(result.length_ms)} of bench time"
    if result.wall_s > 0:
        took += f" in {wall(result.wall_s)}, {result.exchanges / result.wall_s:.0f} exchanges/s"
    return Text(f"{plain(result.scenario_file)} on {plain(result.device)}: {took}", "dim")


def _table(verdicts: tuple[Verdict, ...]) -> Table:
    lines = table("verdict", "margin", "decided", last="assertion")
    lines.show_header = bool(verdicts)
    same = len(verdicts) > 1 and len({verdict.note for verdict in verdicts}) == 1
    for verdict in verdicts:
        lines.add_row(
            Text(verdict.outcome, style(verdict.outcome)),
            Text(margin(verdict.margin, plain(verdict.margin_unit))),
            Text("-" if verdict.decided_ms is None else clock(verdict.decided_ms)),
            _assertion(verdict, noted=not same),
        )
    if same and verdicts[0].note:
        lines.add_row("", "", "", Text(f"each: {plain(verdicts[0].note)}", "dim"))
    return lines


def _assertion(verdict: Verdict, *, noted: bool) -> Text:
    text = Text(plain(verdict.title))
    if verdict.note and noted:
        text.append(f"\n{plain(verdict.note)}", "dim")
    return text


def _why(result: RunResult) -> Iterator[RenderableType]:
    for word, texts in (("note", result.notes), ("why", result.reasons)):
        for text in texts:
            yield _indented(Text(f"{word}: {plain(text)}"))
    lines = list(moments(result))
    if lines:
        yield _indented(Text("time line", "dim"))
        grid = Table.grid(padding=(0, 2, 0, 0))
        grid.add_column(no_wrap=True)
        grid.add_column(no_wrap=True)
        grid.add_column(no_wrap=True)
        grid.add_column(overflow="fold")
        for line in lines:
            grid.add_row(*(Text(plain(word), "bold" if line.decided else "") for word in line.words))
        yield _indented(grid)
    for step in advice(result):
        yield _indented(Text(f"next: {plain(step)}"))
