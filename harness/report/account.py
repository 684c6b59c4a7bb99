"""What became of the runs of one `unlit run`, as plain values: what is told to machines, and compared.

The files of `--json`, `--junit` and `--summary` are three ways to write one `SessionAccount` down. A run's
own part comes from the logbook alone, so that it can be had again at any later time. RESULTS.md describes the
JSON.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from harness import version as this
from harness.assertions import AssertionSpec, ExpressionError, spec_of
from harness.assertions.verdict import Outcome, Status, Verdict
from harness.logbook import RunRecord
from harness.report.block import run_block
from harness.report.console import as_text
from harness.report.plain import plain
from harness.report.record import as_result

Ending = Literal["pass", "fail", "inconclusive", "not played"]
Standing = Literal["worse", "cannot be told", "better", "the same"]

#: Patterns that bound a figure.
FIGURES = ("count", "each", "figure")

#: Of the lines that a person is told. [columns]
WIDTH = 100


@dataclass(frozen=True)
class Judged:
    """One assertion judged, as `Verdict`; no number in it is infinite or NaN.

    Where it bounds a figure, `figure` is the text of that, `value` what it came to at the worst, and
    `at_least` or `at_most` the bound, all in `margin_unit`.
    """

    title: str
    basis: str
    outcome: Outcome
    margin: float | None
    margin_unit: str
    decided_ms: int | None
    exercised: int
    note: str
    figure: str | None = None
    value: float | None = None
    at_least: float | None = None
    at_most: float | None = None


@dataclass(frozen=True, kw_only=True)
class RunAccount:
    """What became of one scenario.

    Attributes
    ----------
    scenario, title : the file as it was named, and the scenario's title.
    status : `inconclusive` too where no run came to an end; `not played` where none was begun.
    expected, as_expected : what the scenario states, and whether it came so; None where not compared.
    run : number in the logbook; None where there is none.
    started_at : UTC, ISO 8601; empty without a run.
    plant, plant_setup, seed : what was simulated; parameters in their own units, choices as words.
    device, device_name, device_version : the link, and what the device said of itself.
    firmware : file to SHA-256 of the build, where the link names files.
    reasons, notes : why it is inconclusive; what else a person should know.
    assertions : in the order of the scenario.
    length_ms, exchanges, repeats : how far the run came in bench time, and by how many exchanges.
    wall_s : how long that took.
    digest : of all recorded signals; two runs share it only if they are the same, bit for bit.
    told : what a person is told of it, in lines.
    """

    scenario: str
    title: str
    status: Ending
    expected: str | None = None
    as_expected: bool | None = None
    run: int | None = None
    started_at: str = ""
    plant: str = ""
    plant_setup: Mapping[str, float | str] = field(default_factory=dict)
    seed: int | None = None
    device: str = ""
    device_name: str = ""
    device_version: str = ""
    firmware: Mapping[str, str] = field(default_factory=dict)
    reasons: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    assertions: tuple[Judged, ...] = ()
    length_ms: int = 0
    exchanges: int = 0
    repeats: int = 0
    wall_s: float = 0.0
    digest: str = ""
    told: tuple[str, ...] = ()

    @property
    def good(self) -> bool:
        """Whether nothing is to be done about it: a pass, or as expected where that was asked."""
        return self.status == "pass" if self.as_expected is None else self.as_expected


@dataclass(frozen=True)
class ComparisonAccount:
    """The session beside a stored baseline: its file, the gravest that was found, and what a person is told.

    `comparison` does the comparing; a fail of its own is `cannot be told`.
    """

    baseline: str
    standing: Standing
    told: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class SessionAccount:
    """All scenarios of one `unlit run`.

    Attributes
    ----------
    format, version : of the JSON file; the version rises when a reader of the old one would be misled.
    passed : whether the exit code is 0; false until the session has ended.
    exit_code : None until the session has ended.
    device : the link that was named; empty where each was played with the built-in one it is for.
    logbook : the file that keeps the runs.
    runs : a scenario each, in the order played.
    comparison : None where none was asked for, or the session did not come to it.
    """

    format: Literal["unlit-results"] = "unlit-results"
    version: Literal[1] = 1
    unlit_version: str = field(default_factory=this.version)
    passed: bool = False
    exit_code: int | None = None
    device: str = ""
    logbook: str = ""
    runs: tuple[RunAccount, ...] = ()
    comparison: ComparisonAccount | None = None


def account_of(
    record: RunRecord, *, expected: str | None = None, as_expected: bool | None = None
) -> RunAccount:
    """The account of a run in the logbook; one without an end is inconclusive, and says why."""
    result, meta = as_result(record), record.summary.meta
    compared = expected if as_expected is not None else None
    return RunAccount(
        scenario=meta.scenario_file,
        title=meta.title,
        status=_ending(result.status),
        expected=expected,
        as_expected=as_expected,
        run=result.run_id,
        started_at=record.summary.started_at,
        plant=meta.plant,
        plant_setup=dict(meta.plant_setup),
        seed=meta.seed,
        device=meta.device,
        device_name=meta.device_name,
        device_version=meta.device_version,
        firmware=dict(meta.firmware),
        reasons=result.reasons,
        notes=result.notes,
        assertions=tuple(_all_judged(record)),
        length_ms=result.length_ms,
        exchanges=result.exchanges,
        repeats=result.repeats,
        wall_s=result.wall_s,
        digest=result.digest,
        told=tuple(as_text(run_block(result, expected=compared), WIDTH)),
    )


def unplayed(
    scenario: str, title: str, told: Sequence[str] = (), *, begun: bool, compared: bool = False
) -> RunAccount:
    """The account of a scenario without a run; `begun` says that it was tried."""
    return RunAccount(
        scenario=scenario,
        title=title,
        status="inconclusive" if begun else "not played",
        as_expected=False if compared else None,
        reasons=tuple(told),
        told=tuple(plain(line) for text in told for line in text.split("\n")),
    )


def _ending(status: Status) -> Ending:
    """A run that still goes on has shown nothing."""
    return "pass" if status is Status.PASS else "fail" if status is Status.FAIL else "inconclusive"


def _all_judged(record: RunRecord) -> Iterator[Judged]:
    specs = record.summary.meta.assertions
    for at, verdict in enumerate(record.verdicts):
        judged = _judged(verdict)
        spec = spec_of(specs[at]) if at < len(specs) else None
        figured = spec is not None and spec.stated in FIGURES
        yield _with_figure(judged, spec, record.units) if spec is not None and figured else judged


def _with_figure(judged: Judged, spec: AssertionSpec, units: Mapping[str, str]) -> Judged:
    """`judged` with the figure it bounds: what it came to follows from the bound and the margin."""
    from harness.assertions.build_figures import build_figure
    from harness.assertions.names import Names

    text = str(spec.value(spec.stated))
    try:
        _, bound = build_figure(spec, Names(units))
    except ExpressionError:  # of a logbook of another version
        return replace(judged, figure=text)
    value = None if judged.margin is None else bound.value + (-1 if bound.upper else 1) * judged.margin
    return replace(
        judged,
        figure=text,
        value=value,
        at_most=bound.value if bound.upper else None,
        at_least=None if bound.upper else bound.value,
    )


def _judged(verdict: Verdict) -> Judged:
    known = verdict.margin is not None and math.isfinite(verdict.margin)
    return Judged(
        title=verdict.title,
        basis=verdict.basis,
        outcome=verdict.outcome,
        margin=verdict.margin if known else None,
        margin_unit=verdict.margin_unit,
        decided_ms=verdict.decided_ms,
        exercised=verdict.exercised,
        note=verdict.note,
    )
