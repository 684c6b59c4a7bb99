"""What to do next after a run that did not pass."""

from __future__ import annotations

from collections.abc import Iterator

from harness.assertions.verdict import Outcome, Status
from harness.bench.result import RunResult
from harness.report.figures import clock

CAUTION = (
    "No bench run is a permission to light a burner. It replaces no certified flame safeguard, "
    "no independent high-limit and no gas fitter; local codes decide."
)


def advice(result: RunResult) -> Iterator[str]:
    """One step a kind of trouble, the gravest first; none while the run still goes on."""
    if result.status is Status.RUNNING:
        return
    outcomes = {verdict.outcome for verdict in result.verdicts}
    broken = [verdict.decided_ms for verdict in result.verdicts if verdict.outcome is Outcome.BROKEN]
    moments = [moment for moment in broken if moment is not None]
    show = f"unlit show {result.run_id}"
    if moments:
        around = clock(min(moments)).split(".")[0]
        yield f"`{show} --around {around} --signal NAME` prints a signal around the break."
    elif broken:
        yield f"`{show}` lists the signals; `--signal NAME` prints one."
    if result.stopped:
        yield "Play it again, to its end; until then the run says nothing either way."
    elif result.reasons:
        yield "Mend what stands after `why` and play it again; until then the run says nothing either way."
    if Outcome.NOT_EXERCISED in outcomes:
        yield "The trigger never came: let the scenario bring it about, or correct `after` or `while`."
    if Outcome.NOT_JUDGED in outcomes and not result.reasons:
        yield "A signal had no value, or the run ended, where it mattered: judge another, or play longer."
