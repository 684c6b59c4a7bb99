"""The file of `unlit run --summary`: a table in GitHub-flavoured Markdown, then each run that is not well."""

from __future__ import annotations

import html
import re
from collections import Counter
from collections.abc import Iterator, Sequence

from harness.assertions.verdict import Outcome
from harness.report.account import ComparisonAccount, RunAccount, SessionAccount
from harness.report.advice import CAUTION
from harness.report.decisive import against
from harness.report.figures import count, margin
from harness.report.plain import plain

#: GitHub refuses a summary of more than 1 MiB; runs beyond this many are in the table only.
MOST_DETAILS = 100
MOST_LINES = 60


def as_markdown(session: SessionAccount) -> str:
    """The session as Markdown; text from scenarios and devices is no mark-up in it."""
    return "\n".join(_lines(session)) + "\n"


def _lines(session: SessionAccount) -> Iterator[str]:
    statuses = Counter(run.status for run in session.runs)
    counted = ", ".join(f"{number} {status}" for status, number in sorted(statuses.items()))
    yield f"### Unlit: {count(len(session.runs), 'scenario')}" + (f", {counted}" if counted else "")
    yield ""
    if session.exit_code is None:
        yield from ("**The session has not come to its end: this is what it had shown by then.**", "")
    yield "| status | scenario | assertions | least margins, or what came in between |"
    yield "| --- | --- | --- | --- |"
    yield from map(_row, session.runs)
    yield ""
    ill = [run for run in session.runs if not run.good and run.told]
    for run in ill[:MOST_DETAILS]:
        yield from _details(run)
    if len(ill) > MOST_DETAILS:
        yield f"{count(len(ill) - MOST_DETAILS, 'run')} more are not shown here."
    if session.comparison is not None:
        yield from _comparison(session.comparison)
    yield _text(CAUTION)


def _row(run: RunAccount) -> str:
    status = run.status if run.good else f"**{run.status}**"
    if run.as_expected is not None:
        status += " (as expected)" if run.as_expected else f" (expected: {run.expected or 'a run'})"
    outcomes = Counter(one.outcome for one in run.assertions)
    judged = ", ".join(f"{outcomes[outcome]} {outcome}" for outcome in Outcome if outcomes[outcome])
    return f"| {status} | {_text(run.title or run.scenario)} | {judged} | {_short(run)} |"


def _short(run: RunAccount) -> str:
    """Of a pass how near it came, by unit; else the first thing that stood against one."""
    if run.status == "pass":
        least: dict[str, float] = {}
        for one in run.assertions:
            if one.margin is not None:
                least[one.margin_unit] = min(one.margin, least.get(one.margin_unit, one.margin))
        return ", ".join(_text(margin(value, unit)) for unit, value in least.items())
    return _text(against(run.assertions, run.reasons))


def _details(run: RunAccount) -> Iterator[str]:
    """The run as a person is told it, folded."""
    yield f"<details><summary>{html.escape(plain(run.scenario))}</summary>"
    yield from ("", *_fenced(run.told), "</details>", "")


def _comparison(comparison: ComparisonAccount) -> Iterator[str]:
    yield f"**Beside {_text(comparison.baseline)}: {comparison.standing}**"
    yield from ("", *_fenced(comparison.told))


def _fenced(told: Sequence[str]) -> Iterator[str]:
    """The first lines of it as they stand; the fence is longer than any inside."""
    shown = "\n".join(told[:MOST_LINES])
    fence = "`" * max(3, 1 + max((len(found) for found in re.findall("`+", shown)), default=0))
    yield from (f"{fence}text", shown, fence, "")


def _text(text: str) -> str:
    """As Markdown that shows exactly this."""
    return re.sub(r"([\\`*_\[\]|~#$@])", r"\\\1", html.escape(plain(text), quote=False))
