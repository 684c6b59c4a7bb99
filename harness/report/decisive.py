"""In a line: what became of an assertion, and what stood against a pass."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from harness.assertions.verdict import Outcome
from harness.report.figures import clock, margin


class Judgement(Protocol):
    """A `Verdict`, or what is kept of one."""

    @property
    def title(self) -> str: ...
    @property
    def outcome(self) -> Outcome: ...
    @property
    def margin(self) -> float | None: ...
    @property
    def margin_unit(self) -> str: ...
    @property
    def decided_ms(self) -> int | None: ...
    @property
    def note(self) -> str: ...


def outcome(one: Judgement) -> str:
    """`broken at 08:01.8, margin -0.5 s`, and why where the outcome needs a reason."""
    at = "" if one.decided_ms is None else f" at {clock(one.decided_ms)}"
    by = "" if one.margin is None else f", margin {margin(one.margin, one.margin_unit)}"
    return f"{one.outcome}{at}{by}" + (f" ({one.note})" if one.note else "")


def against(judged: Sequence[Judgement], reasons: Sequence[str]) -> str:
    """The first break, else the first reason, else the first assertion that was not met; empty for a pass."""
    broken = [one for one in judged if one.outcome is Outcome.BROKEN]
    if not broken and reasons:
        return reasons[0].split("\n")[0]
    first = next(iter(broken or [one for one in judged if one.outcome is not Outcome.MET]), None)
    return f"{outcome(first)}: {first.title}" if first else ""
