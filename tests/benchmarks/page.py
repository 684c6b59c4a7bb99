"""Prints size and time of a page of four hours at 10 Hz with 20 signals, and how long Chromium takes for it.

Times are in multiples of reading the run back from the logbook, best of several taken in turn.
Run: python -m tests.benchmarks.page
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from harness.assertions import AssertionSpec, Judge
from harness.bench.result import Event, RunResult, overall
from harness.logbook import Logbook, RunMeta, RunRecord
from harness.report.page.write import page
from tests.whole.browser import Browser

HOURS, EVERY_MS = 4, 100
ROUNDS = 3
ZOOM = (
    "new Promise((done) => { document.querySelector('#whole-run [data-do=in]').click();"
    "requestAnimationFrame(() => setTimeout(done)); })"
)
CURVES = [f"vessel_{at}" for at in range(10)]
LOGIC = ["gas_valve", "igniter", "flame", "pump"]
OTHERS = {"burner_heat": "W", "unburned_gas": "%", "flow": "L/min", "out.stage": "count", "in.probe": "degC"}
UNITS = dict.fromkeys(CURVES, "degC") | dict.fromkeys(LOGIC, "bool") | OTHERS | {"out.duty": "permille"}
SPECS = (
    AssertionSpec("never too hot", always="vessel_0 < 90 degC"),
    AssertionSpec("lights in time", after="rises(gas_valve)", within_ms=15_000, expect="flame"),
    AssertionSpec("spark off in time", after="rises(flame)", within_ms=3_000, expect="not igniter"),
    AssertionSpec("little gas", always="unburned_gas < 25 %"),
    AssertionSpec("held", figure="worst_error(vessel_1, 66 degC)", at_most="20 K", while_="after 1 h"),
    AssertionSpec("not too often", count="rises(gas_valve)", at_most="2000"),
)


def rows() -> tuple[np.ndarray, np.ndarray]:  # type: ignore[type-arg]
    """A controller that switches every half minute, probes with noise: nothing that thins by itself."""
    chance = np.random.default_rng(1)
    times = np.arange(0, HOURS * 3_600_000 + 1, EVERY_MS)
    cycle = times % 30_000
    gas, flame = cycle < 12_000, (cycle >= 1_200) & (cycle < 12_300)
    spark = cycle < 2_000
    columns = [
        66 + at + 3 * np.sin(times / (2e5 + 3e4 * at)) + chance.normal(0, 0.02, len(times))
        for at in range(len(CURVES))
    ]
    columns += [gas, spark, flame, np.ones(len(times))]
    columns += [
        5400.0 * flame,
        np.where(gas & ~flame, cycle / 400, 0.0),
        6 + chance.normal(0, 0.1, len(times)),
    ]
    columns += [2.0 + flame, columns[0] + chance.normal(0, 0.1, len(times)), (1000 * gas).astype(float)]
    return times, np.stack([np.asarray(column, float) for column in columns], axis=1)


def recorded(folder: Path) -> RunRecord:
    """The run in a logbook, judged."""
    times, values = rows()
    book = Logbook(folder / "logbook.sqlite")
    judge = Judge(SPECS, UNITS)
    meta = RunMeta(
        scenario_file="long.toml", title="Four hours", assertions=[spec.stated_values() for spec in SPECS]
    )
    with book.begin(meta, list(UNITS), list(UNITS.values())) as writer:
        for first in range(0, len(times), 1024):
            part = slice(first, first + 1024)
            judge.chunk(times[part], {name: values[part, at].copy() for at, name in enumerate(UNITS)})
            writer.chunk(times[part], values[part])
        for minute in range(HOURS * 60):
            writer.event(Event(minute * 60_000, "device", f"tell stage {minute % 4}"))
        verdicts = tuple(judge.finish(int(times[-1]), True))
        writer.finish(
            RunResult(
                run_id=writer.run_id,
                scenario_file="long.toml",
                title="Four hours",
                device="none",
                status=overall(verdicts, ()),
                reasons=(),
                verdicts=verdicts,
                events=(),
                digest="",
                length_ms=int(times[-1]),
                exchanges=len(times),
                repeats=0,
                wall_s=1.0,
            )
        )
    return book.read(writer.run_id)


def took(act: Callable[[], object]) -> float:
    """Seconds that something takes."""
    begun = time.perf_counter()
    act()
    return time.perf_counter() - begun


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as name, Browser() as browser:
        folder = Path(name)
        record = recorded(folder)
        target = folder / "page.html"
        text = page([record])
        target.write_text(text, encoding="utf-8")
        assert sum(len(times) for times, _ in record.chunks([])) == HOURS * 3_600_000 // EVERY_MS + 1
        browser.screen(1280)
        best = {"read": float("inf"), "write": float("inf"), "show": float("inf"), "zoom": float("inf")}
        browser.open(target)
        browser.value("document.querySelector('#whole-run').scrollIntoView({behavior: 'instant'})")
        for _ in range(ROUNDS):
            acts = {
                "read": record.signals,
                "write": lambda: page([record]),
                "zoom": lambda: browser.value(ZOOM),
            }
            acts["show"] = lambda: browser.open(target)
            for what, act in acts.items():
                best[what] = min(best[what], took(act))
            browser.value("document.querySelector('#whole-run').scrollIntoView({behavior: 'instant'})")
            browser.value("new Promise((done) => requestAnimationFrame(() => setTimeout(done, 200)))")
        assert browser.troubles() == []
    print(f"{len(UNITS)} signals, {HOURS} h at {1000 // EVERY_MS} Hz: {len(text.encode()) / 1e6:.2f} MB")
    print(f"reading the run back          {best['read']:6.2f} s  = 1")
    for what, said in (
        ("write", "writing the page"),
        ("show", "opened, everything drawn"),
        ("zoom", "a zoom, drawn"),
    ):
        print(f"{said:28}  {best[what]:6.2f} s  = {best[what] / best['read']:.2f}")


if __name__ == "__main__":
    main()
