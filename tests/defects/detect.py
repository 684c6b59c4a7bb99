"""Does the suite catch bad firmware? `python tests/defects/detect.py` seeds each defect and prints its catch.

First the healthy controller, with a °C panel and a °F panel: it must pass every ready scenario. Then, for
each patch: build the changed controller, play the scenarios until an assertion breaks. Exit 1 if a defect is
missed, a patch no longer applies or builds, or the healthy controller fails.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import cache, partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from harness.assertions.verdict import Status
from harness.report.figures import clock, margin
from harness.scenario import Scenario
from tests.defects import seeded
from tests.defects.seeded import Catch, Defect, DefectError

scenarios = cache(seeded.suite)


def hunted(defect: Defect, sound: frozenset[str], everything: bool) -> list[Catch] | str:
    """What caught a defect, or why it could not be tried. Only scenarios that are `sound` can tell."""
    chosen = {name: scenario for name, scenario in scenarios().items() if name in sound}
    with tempfile.TemporaryDirectory() as folder:
        try:
            return seeded.hunt(defect, chosen, Path(folder), everything)
        except DefectError as error:
            return str(error)


def healthy(panel: str) -> dict[str, str]:
    """What the healthy controller does not pass, by scenario."""
    with tempfile.TemporaryDirectory() as text:
        folder = Path(text)
        link = seeded.build(folder, panel=panel)
        return dict(_alarms(scenarios(), link, folder, panel))


def _alarms(suite: dict[str, Scenario], link: str, folder: Path, panel: str) -> Iterator[tuple[str, str]]:
    for name, scenario in suite.items():
        result = seeded.play(scenario, link, folder)
        if result.status is not Status.PASS:
            broken = "; ".join(v.title for v in result.verdicts if v.outcome != "met")
            yield name, f"({panel} panel): {result.status}: {broken or '; '.join(result.reasons)}"


def line(catch: Catch) -> str:
    """A row of the table."""
    verdict = catch.verdict
    short = margin(verdict.margin, verdict.margin_unit)
    when = f"{clock(catch.at_ms):>9} {clock(catch.after_ms):>9}"
    return f"{catch.scenario:<33} {when} {short:>15}  {verdict.title}"


def table(defects: Sequence[Defect], found: Sequence[list[Catch] | str]) -> int:
    """Print the detection table; returns the number of defects that are not caught."""
    print(f"{'defect':<36}{'caught by':<33} {'at':>9} {'after':>9} {'margin':>15}  assertion")
    missed = 0
    for defect, catches in zip(defects, found, strict=True):
        if isinstance(catches, str) or not catches:
            missed += 1
            print(f"{defect.name:<36}{catches or 'MISSED: ' + defect.mistake}")
            continue
        for row, catch in enumerate(catches):
            print(f"{defect.name if not row else '':<36}{line(catch)}")
    return missed


def main() -> int:
    """The program."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", help="parts of the defects' names; all without")
    parser.add_argument("--jobs", type=int, default=2, help="processes at once")
    parser.add_argument("--all", action="store_true", help="play every scenario, also after the first catch")
    chosen = parser.parse_args()
    begun = time.perf_counter()
    defects = [d for d in seeded.all_defects() if not chosen.names or any(n in d.name for n in chosen.names)]
    with ProcessPoolExecutor(chosen.jobs) as pool:
        alarms = list(pool.map(healthy, ("degC", "degF")))
        sound = frozenset(scenarios()).difference(*alarms)
        found = list(pool.map(partial(hunted, sound=sound, everything=chosen.all), defects))
    missed = table(defects, found)
    print(f"\n{len(defects) - missed} of {len(defects)} defects caught by {len(scenarios())} scenarios")
    for name, alarm in (item for panel in alarms for item in panel.items()):
        print(f"false alarm: {name} {alarm}")
    count = sum(map(len, alarms))
    print(f"{count} false alarms of the healthy controller; {time.perf_counter() - begun:.0f} s")
    return 1 if missed or count or not defects else 0


if __name__ == "__main__":
    sys.exit(main())
