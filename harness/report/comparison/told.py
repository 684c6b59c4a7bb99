"""A comparison as a person reads it: what became worse first, and nothing of what stayed as it was."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from harness import version as this
from harness.report.columns import table
from harness.report.comparison.baseline import Baseline, Firmware
from harness.report.comparison.changes import Change, Compared, Kind
from harness.report.comparison.side import Kept
from harness.report.console import style
from harness.report.figures import count, margin, number
from harness.report.plain import plain

BUILD_DIGITS = 16


def session_blocks(compared: Sequence[Compared], baseline: Baseline, file: str) -> Iterator[RenderableType]:
    """All scenarios beside the baseline in `file`, and what to do about it."""
    yield from compared_blocks(compared)
    yield Text(f"compared with {plain(file)}, {kept_of(baseline)}", "dim")
    yield total(compared)
    kinds = {one.kind for one in compared}
    if baseline.unlit_version != this.version() and kinds & {Kind.WORSE, Kind.BETTER}:
        yield f"mind: this is unlit {this.version()}; the bench itself may have changed what margins come to"
    if kinds - {Kind.SAME}:
        yield "next: mend the firmware, or, if that is how it shall be, keep a new baseline and commit it."


def compared_blocks(compared: Sequence[Compared]) -> Iterator[RenderableType]:
    """Each scenario that is not the same, the gravest first."""
    for kind in Kind:
        if kind is not Kind.SAME:
            for one in compared:
                if one.kind is kind:
                    yield from compared_block(one, [each for each in one.changes if _tells(each, one)])


def _tells(change: Change, compared: Compared) -> bool:
    return change.kind is not Kind.SAME and not (compared.unlike and change.kind is Kind.UNTOLD)


def compared_block(compared: Compared, changes: Sequence[Change]) -> Iterator[RenderableType]:
    """One scenario: what stands in the way of comparing, then `changes` of its assertions."""
    yield _head(compared)
    for text in (*compared.unlike, *compared.doubts):
        yield _indented(Text(f"why: {plain(text)}"))
    if changes:
        yield _indented(_table(changes))


def _indented(renderable: RenderableType) -> Padding:
    return Padding(renderable, (0, 0, 0, 2), expand=False)


def _head(compared: Compared) -> Table:
    grid = Table.grid(padding=(0, 2), expand=True)
    grid.add_column(no_wrap=True)
    grid.add_column(ratio=1, overflow="fold")
    grid.add_column(no_wrap=True, justify="right")
    title = Text(plain(compared.side.title), "bold")
    title.append(f"\n{plain(compared.side.scenario)}", "not bold dim")
    run = compared.side.run
    kind = compared.kind
    grid.add_row(Text(kind, style(kind)), title, Text("" if run is None else f"run {run}"))
    return grid


def _table(changes: Sequence[Change]) -> Table:
    lines = table("", "before", "now", last="assertion")
    for change in changes:
        alike = change.before and change.after and change.before.outcome is change.after.outcome
        lines.add_row(
            Text(change.kind, style(change.kind)),
            Text(_shown(change.before, outcome=not alike or change.kind is Kind.UNTOLD)),
            Text(_shown(change.after, outcome=not alike or change.kind is Kind.UNTOLD)),
            _assertion(change),
        )
    return lines


def _shown(kept: Kept | None, *, outcome: bool) -> str:
    if kept is None:
        return "-"
    short = margin(kept.margin, plain(kept.unit))
    if not outcome:
        return short
    return f"{kept.outcome} {short}" if kept.margin is not None else str(kept.outcome)


def _assertion(change: Change) -> Text:
    text = Text(plain(change.title))
    before, after = change.before, change.after
    if change.why:
        text.append(f"\n{plain(change.why)}", "dim")
    if before and after and before.value != after.value and None not in (before.value, after.value):
        values = f"{number(before.value or 0.0)}, now {number(after.value or 0.0)} {plain(after.unit)}"
        text.append(f"\n{plain(after.figure or '')}: {values}", "dim")
    return text


def total(compared: Sequence[Compared]) -> Text:
    """`61 scenarios: 1 worse, 2 better, 58 the same (57 to the bit)`."""
    kinds = Counter(one.kind for one in compared)
    line = Text(f"{count(len(compared), 'scenario')}: ")
    present = [kind for kind in Kind if kinds[kind]]
    for position, kind in enumerate(present):
        line.append(", " if position else "").append(f"{kinds[kind]} {kind}", style(kind))
    exact = sum(one.kind is Kind.SAME and same_to_the_bit(one) for one in compared)
    return line.append(f" ({exact} to the bit)") if exact else line


def same_to_the_bit(compared: Compared) -> bool:
    """Whether both sides recorded the very same signals."""
    before, after = compared.before, compared.after
    return bool(before and after and before.signals and before.signals == after.signals)


def kept_of(baseline: Baseline) -> str:
    """Whose baseline it is, in a line."""
    who = "; ".join(map(firmware_line, baseline.firmware)) or "an unknown firmware"
    return f"kept from {who} by unlit {plain(baseline.unlit_version)}"


def firmware_line(firmware: Firmware) -> str:
    """Name, version and the first digits of the build."""
    builds = ", ".join(f"{name} sha256 {digest[:BUILD_DIGITS]}" for name, digest in firmware.build)
    return plain(f"{firmware.name} {firmware.version}" + (f" ({builds})" if builds else ""))
