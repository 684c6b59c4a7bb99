"""The assertions of all runs as rows, the gravest first, with a cell for each run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from harness.assertions import AssertionSpec, Outcome, Verdict
from harness.report.figures import clock, count, number
from harness.report.moments import Line, moments
from harness.report.page.played import Judged, PlayedRun
from harness.report.page.strip import Strip
from harness.report.page.thin import Window
from harness.report.page.units import margin_of

GRAVEST = (Outcome.BROKEN, Outcome.NOT_JUDGED, Outcome.NOT_EXERCISED, Outcome.MET)
HELD = "It held throughout; no one moment decided it."
UNTOLD = "The logbook does not tell what it looked at."


@dataclass
class Drawn:
    """Strips that share one time: where they are in the page, from when to when, where the cursor stands."""

    id: str
    window: Window
    strips: list[Strip]
    cursor: float | None = None
    note: str = ""


@dataclass
class Cell:
    """What became of an assertion in one run."""

    run: PlayedRun
    judged: Judged
    drawn: Drawn | None = None
    decided: str = field(init=False)
    margin: str = field(init=False)
    unit: str = field(init=False)

    def __post_init__(self) -> None:
        verdict = self.judged.verdict
        self.decided = "–" if verdict.decided_ms is None else clock(verdict.decided_ms)
        self.margin, self.unit = margin_of(verdict.margin, verdict.margin_unit)

    @property
    def outcome(self) -> str:
        """In words."""
        return str(self.judged.verdict.outcome)

    @property
    def note(self) -> str:
        """The reason, where the outcome needs one."""
        return self.judged.verdict.note if self.judged.verdict.outcome is not Outcome.MET else ""

    @property
    def leading(self) -> list[Line]:
        """What happened around a break: the time line of `unlit show` for this assertion alone."""
        verdict = self.judged.verdict
        if verdict.outcome is not Outcome.BROKEN:
            return []
        return list(moments(replace(self.run.result, verdicts=(verdict,))))

    @property
    def undrawn(self) -> str:
        """Why nothing is drawn."""
        verdict = self.judged.verdict
        if self.note:
            return ""
        if verdict.decided_ms is not None:
            return UNTOLD
        return HELD if verdict.outcome is Outcome.MET else "No moment decided it."


@dataclass
class Row:
    """An assertion, by its title, over all runs; None where a run did not ask it."""

    title: str
    cells: list[Cell | None]

    @property
    def asked(self) -> list[Cell]:
        """The cells of the runs that asked it."""
        return [cell for cell in self.cells if cell is not None]

    @property
    def worst(self) -> str:
        """Its gravest outcome."""
        return min((cell.judged.verdict.outcome for cell in self.asked), key=GRAVEST.index)

    @property
    def basis(self) -> str:
        """The standard or practice it rests on."""
        return self.asked[0].judged.verdict.basis

    @property
    def rule(self) -> list[tuple[str, str]]:
        """What it demands, as key and text; empty where the logbook does not tell."""
        spec = self.asked[-1].judged.spec
        return [] if spec is None else rule_of(spec)

    @property
    def goto(self) -> str:
        """Where in the whole run it was decided: from, to, moment. [ms]"""
        for cell in self.asked:
            if cell.drawn is not None:
                return f"{cell.drawn.window[0]:.0f} {cell.drawn.window[1]:.0f} {cell.drawn.cursor:.0f}"
        return ""

    @property
    def turned(self) -> bool:
        """Whether the outcome changed between two runs."""
        return len({cell.outcome for cell in self.asked}) > 1

    @property
    def change(self) -> str:
        """From the first of two runs to the second."""
        if len(self.asked) < 2:
            return "asked in one run only"
        before, after = (cell.judged.verdict for cell in self.asked[:2])
        if self.turned:
            return f"{before.outcome} → {after.outcome}"
        return _margin_change(before, after)


def _margin_change(before: Verdict, after: Verdict) -> str:
    if before.margin is None or after.margin is None or before.margin_unit != after.margin_unit:
        return "–"
    change = after.margin - before.margin
    if number(abs(change)) == "0" or abs(change) < 1e-9:
        return "the same margin"
    figure, unit = margin_of(change, before.margin_unit)
    return f"{figure} {unit}"


def rule_of(spec: AssertionSpec) -> list[tuple[str, str]]:
    """Keys and texts of an assertion as the scenario file writes them."""
    stated = spec.stated_values()
    durations = {key: f"{number(value / 1000)} s" for key, value in stated.items() if isinstance(value, int)}
    return [
        (key, durations.get(key, str(value)))
        for key, value in stated.items()
        if key not in ("title", "basis")
    ]


def rows_of(runs: Sequence[PlayedRun]) -> list[Row]:
    """A row for each title, the gravest first, else in the scenario's order.

    Of assertions with one title in one run the first of each run share a row, then the second, and so on.
    """
    named = [_by_title(run) for run in runs]
    keys = dict.fromkeys(key for judged in named for key in judged)
    rows = []
    for key in keys:
        found = [(run, judged.get(key)) for run, judged in zip(runs, named, strict=True)]
        rows.append(Row(key[0], [None if judged is None else Cell(run, judged) for run, judged in found]))
    return sorted(rows, key=lambda row: GRAVEST.index(Outcome(row.worst)))


def _by_title(run: PlayedRun) -> dict[tuple[str, int], Judged]:
    found: dict[tuple[str, int], Judged] = {}
    times: Counter[str] = Counter()
    for judged in run.judged:
        title = judged.verdict.title
        found[title, times[title]] = judged
        times[title] += 1
    return found


def sum_of(run: PlayedRun) -> str:
    """What became of the run, in a sentence: `8 assertions met, smallest margin +0.3 s`."""
    verdicts = run.result.verdicts
    if not verdicts:
        return "no assertion was judged"
    if all(verdict.outcome is Outcome.MET for verdict in verdicts):
        return f"all {len(verdicts)} assertions met" if len(verdicts) > 1 else "the one assertion met"
    counts = [(outcome, sum(verdict.outcome is outcome for verdict in verdicts)) for outcome in GRAVEST]
    said = ", ".join(f"{times} {outcome}" for outcome, times in counts if times)
    return f"of {count(len(verdicts), 'assertion')}: {said}"
