"""Two runs beside each other: who played them, every assertion, where their signals part, and one drawn."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

import numpy as np
from rich.console import RenderableType
from rich.text import Text

from harness.assertions.names import is_switched
from harness.logbook import RunRecord
from harness.report.columns import table
from harness.report.comparison.baseline import firmware_of
from harness.report.comparison.changes import Compared
from harness.report.comparison.signals import (
    Parted,
    SignalsCompared,
    at_instants,
    common_instants,
    compare_signals,
)
from harness.report.comparison.told import compared_block, firmware_line
from harness.report.figures import clock, count, margin
from harness.report.plain import plain
from harness.report.plot import plot

MOST_PARTED = 12
HEIGHT = 12


def two_runs(
    compared: Compared, before: RunRecord, after: RunRecord, signal: str | None, width: int
) -> Iterator[RenderableType]:
    """All of it; `signal` is drawn, or else the one that went furthest apart for its range."""
    yield from compared_block(compared, compared.changes)
    yield _players(before, after)
    signals = compare_signals(before, after)
    yield from _signals(signals)
    drawn = signal or furthest(signals.parted, before)
    if drawn is not None:
        yield from _overlay(drawn, before, after, width)


def _players(before: RunRecord, after: RunRecord) -> RenderableType:
    lines = table("  before", last=_player(before))
    lines.add_row(Text("  now", "dim"), Text(_player(after), "dim"))
    return lines


def _player(record: RunRecord) -> str:
    run, meta = record.summary.run_id, record.summary.meta
    return f"run {run}: {firmware_line(firmware_of(record))} on {plain(meta.device)}"


def _signals(signals: SignalsCompared) -> Iterator[RenderableType]:
    if signals.same:
        yield "  signals: the same to the bit"
        return
    if signals.row_ms is not None:
        one = count(len(signals.parted), "signal")
        yield f"  signals: the runs part at {clock(signals.row_ms)}; {one} differ from then on"
    if signals.ends_ms[0] != signals.ends_ms[1]:
        yield f"  one run ends at {clock(min(signals.ends_ms))}, the other at {clock(max(signals.ends_ms))}"
    if signals.only:
        yield f"  in one run only, or in other units: {plain(', '.join(signals.only))}"
    if not signals.parted:
        return
    lines = table("  parts at", "furthest at", "now less before", last="signal")
    for each in signals.parted[:MOST_PARTED]:
        apart = margin(each.largest, plain(each.unit)) if isfinite(each.largest) else "one has none"
        words = (f"  {clock(each.at_ms)}", clock(each.largest_ms), apart)
        lines.add_row(*words, Text(plain(each.name)))
    yield lines
    if len(signals.parted) > MOST_PARTED:
        yield f"  and later: {plain(', '.join(one.name for one in signals.parted[MOST_PARTED:]))}"


def furthest(parted: tuple[Parted, ...], record: RunRecord) -> str | None:
    """The signal whose difference is the greatest part of its range; a switched one only if no other."""
    smooth = [one for one in parted if one.unit not in ("bool", "count")]
    best = max(smooth or parted, key=lambda one: _part_of_range(one, record), default=None)
    return best.name if best else None


def _part_of_range(one: Parted, record: RunRecord) -> float:
    _, columns = record.signals([one.name])
    values = columns[one.name][np.isfinite(columns[one.name])]
    span = float(np.ptp(values)) if values.size else 0.0
    if not isfinite(one.largest):  # a value beside none
        return 0.0
    return abs(one.largest) / max(span, abs(one.largest), 1e-12)


def _overlay(name: str, before: RunRecord, after: RunRecord, width: int) -> Iterator[RenderableType]:
    curves = []
    times = [record.signals([name]) for record in (before, after)]
    instants = common_instants(times[0][0], times[1][0])
    if len(instants) < 2:
        return
    held = is_switched(name, before.units[name])
    curves = [at_instants(instants, t_ms, columns[name], held=held) for t_ms, columns in times]
    ids = before.summary.run_id, after.summary.run_id
    yield Text(f"  {plain(name)}: * run {ids[0]}, o run {ids[1]}, which covers it where both are the same")
    yield from plot(
        instants / 60_000, curves, width=min(width, 110), height=HEIGHT, ascii_only=True, x_unit="min",
        y_unit=plain(before.units[name]),
    )  # fmt: skip
