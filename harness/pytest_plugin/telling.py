"""What a failed test says: the words of `unlit run`."""

from __future__ import annotations

from harness.bench.result import RunResult
from harness.report.account import WIDTH
from harness.report.block import run_block
from harness.report.console import as_text
from harness.report.decisive import against
from harness.report.plain import plain


def in_short(result: RunResult) -> str:
    """How a run ended, in a line: the first thing that stood against a pass."""
    why = plain(against(result.verdicts, result.reasons))
    return f"run {result.run_id}: {result.status}" + (f". {why}" if why else "")


def told(result: RunResult, expected: str | None) -> str:
    """The run as `unlit run` prints it; `expected` is what it was to end as, where that was compared."""
    return "\n".join(as_text(run_block(result, expected=expected), WIDTH))
