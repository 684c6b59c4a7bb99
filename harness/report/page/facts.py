"""With what the runs were played, a row a fact, and where the runs differ."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from harness.report.figures import clock, wall
from harness.report.page.played import PlayedRun
from harness.report.page.units import figure_of
from harness.report.record import builds
from plants import ready_plants

MOST_FILES = 4


@dataclass(frozen=True)
class Fact:
    """One row: a value for each run."""

    name: str
    values: tuple[str, ...]
    mono: bool = False
    own: bool = False
    """Of each run alone, so that a difference says nothing."""

    @property
    def differs(self) -> bool:
        """Whether the runs differ in what was played."""
        return not self.own and len(set(self.values)) > 1


def facts(runs: Sequence[PlayedRun]) -> Iterator[Fact]:
    """All rows; a set-up parameter that one run set and another did not is there for both."""

    def row(name: str, values: Sequence[str], **more: bool) -> Fact:
        return Fact(name, tuple(values), **more)

    yield row("scenario", [run.meta.scenario_file for run in runs])
    yield row("plant", [run.meta.plant for run in runs])
    for name in dict.fromkeys(name for run in runs for name in run.meta.plant_setup):
        yield row(f"set-up: {name}", [_setup(run, name) for run in runs])
    yield row("seed", [str(run.meta.seed) for run in runs])
    yield row("firmware", [run.meta.device_name or "not told" for run in runs])
    yield row("firmware version", [run.meta.device_version or "not told" for run in runs])
    yield row("build", [_build(run) for run in runs], mono=True)
    yield row("device link", [run.meta.device for run in runs])
    yield row("played", [_played(run) for run in runs], own=True)
    yield row("bench time", [clock(run.length_ms) for run in runs], own=True)
    yield row("exchanges", [_exchanges(run) for run in runs], own=True)
    yield row(
        "digest of the signals", [run.result.digest or "none: the run has no end" for run in runs], mono=True
    )


def _setup(run: PlayedRun, name: str) -> str:
    value = run.meta.plant_setup.get(name)
    if value is None:
        return "default"
    kind = ready_plants().get(run.meta.plant)
    units = {parameter.name: parameter.unit for parameter in kind.parameters} if kind else {}
    unit = units.get(name, "")
    return value if isinstance(value, str) else figure_of(value, "" if unit == "1" else unit)


def _build(run: PlayedRun) -> str:
    files = run.meta.firmware
    if not files:
        return "not known: the link names no file"
    if len(files) > MOST_FILES:
        return next(builds(files))
    return "; ".join(f"{name} sha256 {digest}" for name, digest in files.items())


def _played(run: PlayedRun) -> str:
    started = run.record.summary.started_at.replace("T", " ").removesuffix("+00:00")
    return f"{started} UTC by unlit {run.meta.unlit_version} on {run.meta.host}"


def _exchanges(run: PlayedRun) -> str:
    result = run.result
    if not result.exchanges:
        return "not told: the run has no end"
    repeats = f", {result.repeats} sent again" if result.repeats else ""
    return f"{result.exchanges} in {wall(result.wall_s)} of wall time{repeats}"


@dataclass(frozen=True)
class ChangedLine:
    """A line of a difference; `kind` is in, out or empty."""

    kind: str
    text: str


@dataclass(frozen=True)
class ScenarioText:
    """A scenario's text, or the changes from one to another."""

    title: str
    text: str = ""
    changes: tuple[ChangedLine, ...] = ()


def scenario_texts(runs: Sequence[PlayedRun]) -> Iterator[ScenarioText]:
    """Each text once; where there are two, their differences first."""
    texts: dict[str, list[PlayedRun]] = {}
    for run in runs:
        texts.setdefault(run.meta.scenario_text, []).append(run)
    if len(texts) == 2:
        (old, before), (new, after) = texts.items()
        changes = tuple(_changes(old, new))
        yield ScenarioText(f"What differs from {_letters(before)} to {_letters(after)}", changes=changes)
    for text, of in texts.items():
        letters = f"{_letters(of)}: " if of[0].letter else ""
        yield ScenarioText(f"{letters}{of[0].meta.scenario_file}", text=text or "The logbook holds no text.")


def _letters(runs: Sequence[PlayedRun]) -> str:
    return ", ".join(run.letter for run in runs)


def _changes(old: str, new: str) -> Iterator[ChangedLine]:
    kinds = {"+": "in", "-": "out"}
    for line in list(difflib.unified_diff(old.splitlines(), new.splitlines(), n=2, lineterm=""))[2:]:
        yield ChangedLine(kinds.get(line[:1], ""), "…" if line.startswith("@@") else line)
