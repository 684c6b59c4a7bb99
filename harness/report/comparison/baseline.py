"""The stored baseline: how one firmware came through its scenarios, as a text file that can be committed.

TOML, a `[[scenario]]` each by name, an assertion a line, so that a difference between two of them reads well
and is merged by line. README.md describes the keys. Scenarios are named from the file's own folder, so that
it does not matter where the command is given.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from harness import version as this
from harness.logbook import RunRecord
from harness.report.comparison.side import Kept, Side
from harness.report.record import build_digests
from harness.scenario.write import to_toml, to_toml_value
from harness.shipped import shipped

FORMAT = "unlit-baseline"
VERSION = 1
HEAD = (
    "# How a firmware came through its scenarios: kept by `unlit run --keep-baseline`, compared by\n"
    "# `unlit run --baseline`. Commit it as it is; a line changes only with what the firmware does.\n"
)


@dataclass(frozen=True)
class Firmware:
    """What a device said of itself, and SHA-256 of the files of its build, as far as known."""

    name: str
    version: str
    build: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Baseline:
    """A baseline as values.

    Attributes
    ----------
    unlit_version : of the bench that played it.
    firmware : usually one; several where scenarios were played against the built-in controllers.
    sides : a scenario each, by name.
    """

    unlit_version: str
    firmware: tuple[Firmware, ...]
    sides: tuple[Side, ...]


def firmware_of(record: RunRecord) -> Firmware:
    """Who played a run."""
    meta = record.summary.meta
    build = tuple(build_digests(meta.firmware).items())
    return Firmware(meta.device_name, meta.device_version, build)


def named_from(file: Path, scenario: str) -> str:
    """The name of a scenario in the baseline `file`: from its folder, or that of a shipped one."""
    path, home = os.path.realpath(scenario), os.path.dirname(os.path.realpath(file))
    try:
        name = os.path.relpath(path, home)
    except ValueError:  # on another drive
        name = path
    ready = shipped("scenarios").resolve()
    if name.startswith("..") and Path(path).is_relative_to(ready):
        name = str(Path(path).relative_to(ready.parent))
    return Path(name).as_posix()


def baseline_of(sides: Iterable[Side], firmware: Iterable[Firmware]) -> Baseline:
    """Put together, in an order that does not depend on the session's."""
    who = sorted(set(firmware), key=lambda one: (one.name, one.version, one.build))
    return Baseline(this.version(), tuple(who), tuple(sorted(sides, key=lambda side: side.scenario)))


def as_text(baseline: Baseline) -> str:
    """The file."""
    head = {
        "format": FORMAT,
        "version": VERSION,
        "unlit": baseline.unlit_version,
        "firmware": [
            {"name": one.name, "version": one.version, "build": dict(one.build)} for one in baseline.firmware
        ],
    }
    return "\n".join([HEAD, to_toml(head), *map(_scenario, baseline.sides)])


def _scenario(side: Side) -> str:
    table: dict[str, Any] = {
        "file": side.scenario,
        "title": side.title,
        "status": side.status,
        "plant": side.plant,
        "setup": dict(side.setup),
        "seed": side.seed,
        "pace": side.pace,
        "script": side.script,
        "signals": side.signals,
    }
    lines = "".join(f"  {to_toml_value(dict(_assertion(one)))},\n" for one in side.assertions)
    return to_toml({"scenario": [table]}) + f"assertions = [\n{lines}]\n"


def _assertion(one: Kept) -> Iterator[tuple[str, object]]:
    yield "outcome", str(one.outcome)
    if one.margin is not None:
        yield "margin", one.margin
    if one.unit:
        yield "unit", one.unit
    yield "title", one.title
    if one.figure is not None:
        yield "figure", one.figure
        if one.value is not None:
            yield "value", one.value
    yield "demand", one.demand
