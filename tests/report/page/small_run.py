"""A run written straight into a logbook: small, of known shape, with texts of a device that means harm."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from harness.assertions import AssertionSpec, Judge, Status
from harness.bench.result import Event, RunResult, overall
from harness.logbook import Logbook, RunDigest, RunMeta, RunRecord

HOSTILE = (
    "<img src=x onerror=\"document.title='harmed'\">\x1b[2J</script><script>document.title='harmed'</script>"
)
UNITS = {
    "liquor": "degC",
    "flame": "bool",
    "gas_valve": "bool",
    "unburned_gas": "%",
    "burner_heat": "W",
    "in.mash_setpoint": "degC",
    "out.fault": "count",
    "ambient": "degC",
}
BASIS = "common practice"
SPECS = (
    AssertionSpec(
        "gas shut in time", "common practice", after="falls(flame)", within_ms=4000, expect="not gas_valve"
    ),
    AssertionSpec("never too hot", "common practice", always="liquor < 66 degC"),
    AssertionSpec("never that hot", "common practice", always="liquor < 60 degC"),
    AssertionSpec("no gas in a fault", "common practice", never="gas_valve", while_="out.fault == 9"),
    AssertionSpec("little overshoot", "common practice", figure="overshoot(liquor, 61 degC)", at_most="2 K"),
)
META = RunMeta(
    scenario_file="burner/small.toml",
    scenario_text='title = "small"\nlength = "60 s"\n',
    title="A small run",
    plant="herms-gas",
    plant_setup={"burner_power": 9.0},
    seed=3,
    device="run:./board",
    device_name="board",
    device_version="1.2",
    firmware={"./board": "ab" * 32},
    host="bench",
)


@dataclass
class Rows:
    """The rows of a small run: a fire from 5 s to `lost_s`, the valve shut `shut_s` after it."""

    lost_s: float = 30.0
    shut_s: float = 1.5
    end_s: float = 60.0

    def table(self) -> tuple[np.ndarray, dict[str, np.ndarray]]:  # type: ignore[type-arg]
        times = np.arange(0, int(1000 * self.end_s) + 1, 100)
        lost, shut = 1000 * self.lost_s, 1000 * (self.lost_s + self.shut_s)
        flame = ((times >= 5000) & (times < lost)).astype(float)
        columns = {
            "liquor": 50 + np.minimum(times, lost) / 2500,
            "flame": flame,
            "gas_valve": ((times >= 4000) & (times < shut)).astype(float),
            "unburned_gas": np.where((times >= lost) & (times < shut), (times - lost) / 500, 0.0),
            "burner_heat": 5400 * flame,
            "in.mash_setpoint": np.full(len(times), 62.0),
            "out.fault": np.where(times >= shut, 6.0, 0.0),
            "ambient": np.full(len(times), 12.0),
        }
        return times, columns


def events(rows: Rows) -> list[Event]:
    """What happened, with a text from the device that must stay text."""
    lost = int(1000 * rows.lost_s)
    return [
        Event(5000, "plant", "flame lights"),
        Event(lost, "disturbance", "flame-lost starts"),
        Event(lost, "plant", "flame lost"),
        Event(lost + 500, "device", f"say {HOSTILE}"),
        Event(lost + 9000, "disturbance", "flame-lost ends"),
    ]


def record(
    folder: Path,
    *,
    rows: Rows | None = None,
    finish: bool = True,
    reasons: tuple[str, ...] = (),
    specs: tuple[AssertionSpec, ...] = SPECS,
    **meta: Any,
) -> RunRecord:
    """Write a run into the logbook of a folder and read it back; without `finish` it is interrupted."""
    rows = rows or Rows()
    book = Logbook(folder / "logbook.sqlite")
    times, columns = rows.table()
    values = np.stack([columns[name] for name in UNITS], axis=1)
    judge, digest = Judge(specs, UNITS), RunDigest(list(UNITS), list(UNITS.values()))
    known = replace(META, **({"assertions": [spec.stated_values() for spec in specs]} | meta))
    with book.begin(known, list(UNITS), list(UNITS.values())) as writer:
        judge.chunk(times, columns)
        digest.chunk(times, values)
        writer.chunk(times, values)
        for event in events(rows):
            writer.event(event)
        if finish:
            verdicts = tuple(judge.finish(int(times[-1]), True))
            writer.finish(
                _result(writer.run_id, known, verdicts, reasons, digest.hexdigest(), int(times[-1]))
            )
    return book.read(writer.run_id)


def _result(
    run_id: int, meta: RunMeta, verdicts: tuple[Any, ...], reasons: tuple[str, ...], digest: str, end_ms: int
) -> RunResult:
    status: Status = overall(verdicts, reasons)
    return RunResult(
        run_id=run_id,
        scenario_file=meta.scenario_file,
        title=meta.title,
        device=meta.device,
        status=status,
        reasons=reasons,
        verdicts=verdicts,
        events=(),
        digest=digest,
        length_ms=end_ms,
        exchanges=601,
        repeats=0,
        wall_s=0.5,
        notes=("a note",),
    )
