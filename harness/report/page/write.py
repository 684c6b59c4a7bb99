"""The page: one HTML file with everything in it."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from plotly.offline import get_plotlyjs

from harness.assertions.verdict import Outcome
from harness.logbook import INTERRUPTED, RunRecord
from harness.report.figures import clock, count
from harness.report.page.cautions import CAUTIONS
from harness.report.page.facts import facts, scenario_texts
from harness.report.page.marks import disturbed
from harness.report.page.moment import moment
from harness.report.page.overview import buckets_for, overview, still
from harness.report.page.played import PlayedRun
from harness.report.page.rows import Drawn, Row, rows_of, sum_of
from harness.report.page.strip import figure
from harness.report.page.units import figure_of
from harness.report.plain import plain
from harness.version import version

TEMPLATES = Path(__file__).parent / "template"
LETTERS = "ABCDEF"
MOST_RUNS = len(LETTERS)
MOST_EVENTS = 3000
SHAPES = {
    "met": "s-met",
    "pass": "s-met",
    "broken": "s-broken",
    "fail": "s-broken",
    "not exercised": "s-idle",
    INTERRUPTED: "s-cut",
}
ALL_DRAWN = "All recorded rows are used; rows that change nothing are left out."
THINNED = (
    "Long runs are thinned for drawing: the time is cut into {buckets} equal buckets, and of each signal the "
    "smallest and the largest value in each bucket are drawn, so that every peak stays; of signals that "
    "jump, every change is drawn, or where there are too many the extremes and the last value of a bucket. "
    "Within 10 s of a moment that decided, every row is drawn. Between drawn rows the read-out follows the "
    "drawn line; the logbook holds all of it."
)


def page(records: Sequence[RunRecord]) -> str:
    """The HTML of one run, or of up to `MOST_RUNS` beside each other.

    What is from outside (titles, device texts, file names) is set as text: the template escapes all that it
    is given, control characters are written out, and Plotly gets no text at all. The page's policy forbids
    every connection and every script but the two it brings, by their hash.
    """
    letters = LETTERS if len(records) > 1 else [""]
    runs = [PlayedRun(record, letter) for record, letter in zip(records, letters, strict=False)]
    rows = rows_of(runs)
    drawn = _moments(rows)
    length = max(run.length_ms for run in runs)
    whole = Drawn(
        "whole-run", (0.0, float(length)), overview(runs) if any(len(r.times) for r in runs) else []
    )
    whole.cursor = next((cell.cursor for cell in drawn), 0.0)
    groups = [*drawn, whole] if whole.strips else drawn
    library, script = get_plotlyjs(), (TEMPLATES / "page.js").read_text("utf-8")
    numbers = ", ".join(str(run.number) for run in runs)
    return (
        _environment()
        .get_template("page.html")
        .render(
            policy=_policy(library, script),
            style=Markup((TEMPLATES / "page.css").read_text("utf-8")),
            script=Markup(script),
            library=Markup(_packed(library)),
            figures=Markup(_packed(json.dumps([_group(each) for each in groups]))),
            title=f"run {numbers}" if len(runs) == 1 else f"runs {numbers}",
            heading=_heading(runs),
            runs=[_shown(run, _label(run, runs)) for run in runs],
            rows=rows,
            any_broken=any(row.worst is Outcome.BROKEN for row in rows),
            whole=whole,
            thinned=_how_thinned(runs),
            still=", ".join(_still(runs)),
            facts=list(facts(runs)),
            scenarios=list(scenario_texts(runs)),
            cautions=CAUTIONS,
            version=version(),
        )
    )


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        finalize=_printable,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["dashed"] = lambda word: str(word).replace(" ", "-")
    made.filters["shape"] = lambda word: SHAPES.get(str(word), "s-open")
    return made


def _printable(value: Any) -> Any:
    """Text from outside without what could steer: everything that is not printable is written out."""
    if isinstance(value, Markup) or not isinstance(value, str):
        return value
    return "\n".join(plain(text) for text in value.replace("\t", "    ").split("\n"))


def _packed(text: str) -> str:
    return base64.b64encode(gzip.compress(text.encode(), 6, mtime=0)).decode()


def _policy(*scripts: str) -> str:
    hashes = (base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in scripts)
    allowed = " ".join(f"'sha256-{digest}'" for digest in hashes)
    rest = "style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
    return f"default-src 'none'; script-src {allowed}; {rest}"


def _moments(rows: Sequence[Row]) -> list[Drawn]:
    """Draw what decided, into each cell; in the page's order."""
    drawn = []
    for at, row in enumerate(rows, 1):
        for cell in row.asked:
            found = moment(cell.run, cell.judged)
            if found is None:
                continue
            every = "every recorded row is drawn" if found.whole else "thinned for drawing, peaks kept"
            cell.drawn = Drawn(
                f"m{at}{cell.run.letter}",
                found.window,
                found.strips,
                float(cell.judged.verdict.decided_ms or 0),
                f"{clock(round(found.window[0]))} to {clock(round(found.window[1]))}; {every}",
            )
            drawn.append(cell.drawn)
    return drawn


def _group(drawn: Drawn) -> dict[str, Any]:
    strips = [figure(strip) for strip in drawn.strips]
    return {"range": list(drawn.window), "cursor": drawn.cursor, "strips": strips}


def _heading(runs: Sequence[PlayedRun]) -> str:
    titles = list(dict.fromkeys(run.result.title or run.meta.scenario_file for run in runs))
    return titles[0] if len(titles) == 1 else f"{len(runs)} runs beside each other"


def _label(run: PlayedRun, runs: Sequence[PlayedRun]) -> str:
    """What tells a run from the others: its scenario, or its firmware where all play the same."""
    if len({each.result.title for each in runs}) > 1:
        return run.result.title
    return f"{run.meta.device_name} {run.meta.device_version}".strip() or run.meta.device


def _shown(run: PlayedRun, label: str) -> dict[str, Any]:
    """What the template says of a run as a whole."""
    digest = run.record.summary.end.digest
    events = run.result.events
    disturbances = disturbed([event for event in events if event.source == "disturbance"], run.length_ms)
    told = sum(event.source == "device" for event in events)
    counts = ((len(disturbances), "disturbance"), (told, "device message"), (len(events), "event"))
    title = ", ".join(count(*each) for each in counts)
    if len(events) > MOST_EVENTS:
        title += f"; the first {MOST_EVENTS} are listed"
    return {
        "letter": run.letter,
        "number": run.number,
        "label": label,
        "status": run.record.summary.shown_status,
        "sum": sum_of(run),
        "result": run.result,
        "altered": digest not in ("", run.record.computed_digest()),
        "events_title": title,
        "events": [
            {"time": clock(event.t_ms), "source": event.source, "text": event.text}
            for event in events[:MOST_EVENTS]
        ],
    }


def _how_thinned(runs: Sequence[PlayedRun]) -> str:
    buckets = buckets_for(runs)
    if max(len(run.times) for run in runs) <= 2 * buckets:
        return ALL_DRAWN
    return THINNED.format(buckets=buckets)


def _still(runs: Sequence[PlayedRun]) -> list[str]:
    said = []
    for name in still(runs):
        run = next(run for run in runs if name in run.columns)
        values = run.columns[name]
        said.append(f"{name} {figure_of(float(values[0]), run.units[name])}" if len(values) else name)
    return said
