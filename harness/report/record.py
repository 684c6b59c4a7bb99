"""A run read back from the logbook, as `unlit show` prints it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray
from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from harness.assertions.verdict import Status
from harness.bench.result import Event, RunResult
from harness.logbook import RunMeta, RunRecord
from harness.report.columns import table
from harness.report.figures import clock, count, number
from harness.report.plain import plain
from harness.report.spark import spark
from plants import ready_plants

MOST_SPARKS = 16
MOST_BUILDS = 2
BUILD_DIGITS = 16
UNWRITTEN = ("", "1", "count")
SWITCHED = ("bool", "permille", "count")


def as_result(record: RunRecord) -> RunResult:
    """The run as the bench once gave it; a run without an end is inconclusive, and says why."""
    run, end = record.summary, record.summary.end
    reasons = tuple(end.reasons)
    if run.interrupted:
        reasons += ("interrupted: the process that played it ended before the run did",)
    elif run.status is Status.RUNNING:
        reasons += (f"still running, in process {run.meta.process} on {run.meta.host}",)
    return RunResult(
        run_id=run.run_id,
        scenario_file=run.meta.scenario_file,
        title=run.meta.title,
        device=run.meta.device,
        status=Status.INCONCLUSIVE if run.interrupted else run.status,
        reasons=reasons,
        verdicts=record.verdicts,
        events=tuple(Event(event.t_ms, event.source, event.text) for event in record.events),
        digest=end.digest,
        length_ms=end.length_ms or _last_ms(record),
        exchanges=end.exchanges,
        repeats=end.repeats,
        wall_s=end.wall_s,
        notes=tuple(end.notes),
    )


def _last_ms(record: RunRecord) -> int:
    """How far the rows go, for a run without an end."""
    times, _ = record.signals([])
    return int(times[-1]) if len(times) else 0


def about(record: RunRecord) -> Table:
    """With what the run was played: enough to play it again."""
    meta = record.summary.meta
    setup = ", ".join(_parameters(meta))
    digest = record.summary.end.digest
    rows = {
        "started": f"{record.summary.started_at} by unlit {meta.unlit_version} on {meta.host}",
        "device": f"{meta.device_name} {meta.device_version} on {meta.device}",
        "plant": f"{meta.plant}, seed {meta.seed}" + (f", {setup}" if setup else ""),
        "repeats": str(record.summary.end.repeats),
        "build": ", ".join(builds(meta.firmware)) or "not known: the link names no file",
        "digest": digest or "none: the run has no end",
    }
    lines = Table.grid(padding=(0, 2, 0, 0))
    lines.add_column(no_wrap=True, style="dim")
    lines.add_column(overflow="fold")
    notes = record.summary.end.notes if record.summary.status is Status.PASS else ()  # else they stand above
    for name, text in [*rows.items(), *(("note", note) for note in notes)]:
        lines.add_row(Text(name), Text(plain(text)))
    return lines


def builds(firmware: Mapping[str, str]) -> Iterator[str]:
    """The files of a build with the first digits of their SHA-256; several of one folder as one."""
    for name, digest in build_digests(firmware).items():
        yield f"{name} sha256 {digest[:BUILD_DIGITS]}"


def build_digests(firmware: Mapping[str, str]) -> dict[str, str]:
    """The files of a build to their SHA-256; more than a few are one line and have one digest together."""
    if len(firmware) <= MOST_BUILDS:
        return dict(firmware)
    whole = hashlib.sha256("".join(f"{name} {firmware[name]}\n" for name in sorted(firmware)).encode())
    return {f"{len(firmware)} files, together": whole.hexdigest()}


def _parameters(meta: RunMeta) -> Iterator[str]:
    """The plant's parameters that the scenario set, with their units as far as this plant is still known."""
    kind = ready_plants().get(meta.plant)
    units = {parameter.name: parameter.unit for parameter in kind.parameters} if kind else {}
    for name, value in meta.plant_setup.items():
        shown = value if isinstance(value, str) else number(value)
        unit = units.get(name, "")
        yield f"{name} {shown}" if unit in UNWRITTEN else f"{name} {shown} {unit}"


def events_table(events: Sequence[Event]) -> Table:
    """Every event given, a line each."""
    lines = table("time", "source", last="event")
    for event in events:
        lines.add_row(Text(clock(event.t_ms)), Text(plain(event.source)), Text(plain(event.text)))
    return lines


def sparks(record: RunRecord, *, ascii_only: bool) -> Iterator[RenderableType]:
    """The signals that changed during the run, the first few as a line of characters."""
    _, columns = record.signals()
    moving = {
        name: values
        for name, values in columns.items()
        if np.isfinite(values).any() and np.nanmin(values) < np.nanmax(values)
    }
    lines = table("signal", "from", "to", "unit", last="over the run")
    for name in list(moving)[:MOST_SPARKS]:
        values = moving[name][np.isfinite(moving[name])]
        level = np.mean if record.units[name] in SWITCHED else np.max  # a spike must not vanish in a mean
        picture = spark(moving[name], 30, level, ascii_only=ascii_only)
        ends = number(values.min()), number(values.max()), record.units[name]
        lines.add_row(*(Text(plain(word)) for word in (name, *ends)), Text(picture))
    yield lines
    hidden = list(moving)[MOST_SPARKS:]
    still = [name for name in columns if name not in moving]
    for names, what in ((hidden, "moved too"), (still, "did not move")):
        if names:
            yield Text(f"{count(len(names), 'signal')} {what}: {plain(', '.join(names))}", "dim")


def signal_table(
    times: NDArray[np.int64], columns: dict[str, NDArray[np.float64]], units: dict[str, str]
) -> Iterator[str]:
    """Values as lines of text, time first, columns parted by two blanks; `-` is no value."""
    heads = ["time"] + [f"{name} [{units[name]}]" for name in columns]
    yield "  ".join(head.rjust(9) for head in heads)
    for row, t_ms in enumerate(times):
        cells = [clock(int(t_ms))] + [number(float(values[row])) for values in columns.values()]
        yield "  ".join(cell.rjust(max(9, len(head))) for cell, head in zip(cells, heads, strict=True))
