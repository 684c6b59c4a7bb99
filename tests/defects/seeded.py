"""Seeded defects: patches to the C reference controller, each a homebuilder's mistake, and the suite.

A patch is a unified diff against `firmware_stubs/c` (`patch -p1` takes it too). The first line of its file
says how the mistake comes about. `Shown by: THEME/NAME` names the ready scenario to play first, to save time;
the others follow when that one does not tell. No scenario knows of any patch.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from harness.assertions.verdict import Outcome, Status, Verdict
from harness.bench.result import RunResult
from harness.bench.run import run_scenario
from harness.logbook import Logbook
from harness.scenario import Scenario, find_scenarios, load_scenario

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
C_SOURCES = ROOT / "firmware_stubs" / "c"
HUNK = re.compile(r"@@ -(\d+)(?:,\d+)? \+\d+(?:,\d+)? @@")


class DefectError(Exception):
    """A patch that cannot be used."""


@dataclass(frozen=True)
class Defect:
    """A patch.

    Attributes
    ----------
    name : its file's name without the suffix.
    mistake : how a homebuilder makes it.
    shown_by : `THEME/NAME` of the scenario to play first.
    diff : the unified diff.
    """

    name: str
    mistake: str
    shown_by: str
    diff: str


def read_defect(path: Path) -> Defect:
    """The defect in a patch file."""
    mistake, shown, _, diff = path.read_text().split("\n", 3)
    key, _, shown_by = shown.partition(": ")
    if key != "Shown by" or not diff.startswith("--- a/"):
        raise DefectError(
            f"{path.name}: write a line on the mistake, 'Shown by: THEME/NAME', an empty line and a diff."
        )
    return Defect(path.stem, mistake, shown_by, diff)


def all_defects() -> list[Defect]:
    """Every seeded defect, by number."""
    return [read_defect(path) for path in sorted(HERE.glob("[0-9]*.patch"))]


def apply(defect: Defect, folder: Path) -> None:
    """Change the sources in `folder`. Every line of context must be there as it stands in the patch.

    Raises
    ------
    DefectError
        If the sources have moved on from the patch.
    """
    for part in re.split(r"^--- a/", defect.diff, flags=re.MULTILINE)[1:]:
        head, _, hunks = part.partition("\n+++ ")
        file = folder / head.strip()
        lines = file.read_text().splitlines()
        shift = 0
        for start, before, after in _hunks(hunks):
            at = start - 1 + shift
            if lines[at : at + len(before)] != before:
                raise DefectError(
                    f"{defect.name}: no longer applies to {file.name} at line {start}. Draw it up anew."
                )
            lines[at : at + len(before)] = after
            shift += len(after) - len(before)
        file.write_text("\n".join(lines) + "\n")


def _hunks(text: str) -> Iterator[tuple[int, list[str], list[str]]]:
    """Each hunk's first line and what stands there before and after."""
    starts = list(HUNK.finditer(text))
    for hunk, following in zip(starts, [*starts[1:], None], strict=True):
        body = text[hunk.end() : following.start() if following else None].splitlines()[1:]
        before = [line[1:] for line in body if line[:1] in (" ", "-")]
        after = [line[1:] for line in body if line[:1] in (" ", "+")]
        yield int(hunk[1]), before, after


def build(folder: Path, defect: Defect | None = None, panel: str = "degC") -> str:
    """Build the controller for `lib:` in `folder`, with a defect or without; returns the link to it.

    Raises
    ------
    DefectError
        If it does not apply or does not build.
    """
    sources = folder / "c"
    shutil.copytree(C_SOURCES, sources, ignore=shutil.ignore_patterns("build"))
    if defect is not None:
        apply(defect, sources)
    words = ["make", "-s", "-C", str(sources), "lib", f"BUILD={folder}", f"PANEL={panel}"]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    if done.returncode:
        raise DefectError(f"{defect.name if defect else 'healthy'}: does not build:\n{done.stderr}")
    return f"lib:{folder / 'reference.so'}"


@dataclass(frozen=True)
class Catch:
    """An assertion that a run broke.

    Attributes
    ----------
    scenario : `THEME/NAME`.
    at_ms : the moment of the break. [ms of bench time]
    after_ms : since the last disturbance before it began, or since the start. [ms]
    """

    scenario: str
    verdict: Verdict
    at_ms: int
    after_ms: int


def suite(folder: Path = ROOT / "scenarios") -> dict[str, Scenario]:
    """The ready scenarios by `THEME/NAME`, shortest first.

    Without those for another controller, and those that the healthy controller fails.
    """
    loaded = ((path, load_scenario(path)) for path in find_scenarios([folder]))
    found = [(path, one) for path, one in loaded if one.expected == "pass" and one.is_for("lib:")]
    found.sort(key=lambda entry: entry[1].length_ms / entry[1].exchange_every_ms)
    return {path.relative_to(folder).with_suffix("").as_posix(): scenario for path, scenario in found}


def play(scenario: Scenario, link: str, folder: Path) -> RunResult:
    """One run; its logbook is thrown away."""
    logbook = folder / "logbook.sqlite"
    try:
        return run_scenario(scenario, link, Logbook(logbook))
    finally:
        for path in folder.glob("logbook.sqlite*"):
            path.unlink()


def catches(name: str, result: RunResult) -> Iterator[Catch]:
    """What a run broke, first things first."""
    broken = [verdict for verdict in result.verdicts if verdict.outcome is Outcome.BROKEN]
    for verdict in sorted(broken, key=lambda v: v.decided_ms or 0):
        at_ms = verdict.decided_ms or 0
        begun = [e.t_ms for e in result.events if e.source == "disturbance" and e.text.endswith("starts")]
        since = max((t_ms for t_ms in begun if t_ms <= at_ms), default=0)
        yield Catch(name, verdict, at_ms, at_ms - since)


def ordered(defect: Defect, names: Iterable[str]) -> list[str]:
    """Scenario names, the one most likely to show the defect first."""
    return sorted(names, key=lambda name: name != defect.shown_by)


def hunt(
    defect: Defect, scenarios: Mapping[str, Scenario], folder: Path, everything: bool = False
) -> list[Catch]:
    """The first break of each scenario on a defect; played until one breaks, with `everything` all."""
    link = build(folder, defect)
    found: list[Catch] = []
    for name in ordered(defect, scenarios):
        result = play(scenarios[name], link, folder)
        if result.status is Status.FAIL:
            found.append(next(catches(name, result)))
            if not everything:
                break
    return found
