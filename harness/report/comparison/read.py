"""A baseline from its file, or every mistake in it with its line: it is committed, merged and edited."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from harness.assertions.verdict import Outcome
from harness.report.comparison.baseline import FORMAT, VERSION, Baseline, Firmware
from harness.report.comparison.side import Kept, Side
from harness.scenario.findings import Findings
from harness.scenario.forms import INNER, LINE, SEED, shown
from harness.scenario.names import listed, quoted
from harness.scenario.source import KeyPath, parse_toml, read_text
from harness.scenario.table import Form, Table, key
from harness.scenario.tables import read_table

STATUSES = ("pass", "fail", "inconclusive")
KEEP = "Keep one with `unlit run SCENARIOS --keep-baseline FILE`."


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError(f"{shown(value)} is not a number")
    return float(value)


def _word(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{shown(value)} is not text. Write it in double quotes")
    return value


def _outcome(value: object) -> Outcome:
    if value not in list(Outcome):
        raise ValueError(f"{shown(value)} is no outcome; {listed(Outcome)}")
    return Outcome(str(value))


def _status(value: object) -> str:
    if value not in STATUSES:
        raise ValueError(f"{shown(value)} is no status; {listed(STATUSES)}")
    return str(value)


def _words(value: object) -> dict[str, str]:
    if not isinstance(value, Mapping) or not all(isinstance(one, str) for one in value.values()):
        raise ValueError(f"{shown(value)} is no table of texts")
    return dict(value)


def _setup(value: object) -> dict[str, float | str]:
    if not isinstance(value, Mapping):
        raise ValueError(f"{shown(value)} is no table")
    return {name: one if isinstance(one, str) else _number(one) for name, one in value.items()}


NUMBER = Form(_number, {})
WORD = Form(_word, {})


class _Head(Table):
    format = key(WORD)
    version = key(INNER)
    unlit = key(WORD)
    firmware = key(INNER, ())
    scenario = key(INNER, ())


class _Firmware(Table):
    name = key(WORD)
    version = key(WORD)
    build = key(Form(_words, {}))


class _Scenario(Table):
    file = key(LINE)
    title = key(LINE)
    status = key(Form(_status, {}))
    plant = key(WORD)
    setup = key(Form(_setup, {}))
    seed = key(SEED)
    pace = key(WORD, "lockstep")
    script = key(WORD)
    signals = key(WORD, "")
    assertions = key(INNER)


class _Assertion(Table):
    outcome = key(Form(_outcome, {}))
    margin = key(NUMBER, None)
    unit = key(WORD, "")
    title = key(LINE)
    figure = key(WORD, None)
    value = key(NUMBER, None)
    demand = key(WORD)


def read_baseline(path: Path) -> Baseline:
    """The baseline in a file; FileMistakesError with all its mistakes."""
    text = read_text(path, "baseline", KEEP)
    data, places = parse_toml(text, str(path))
    findings = Findings(str(path), places)
    if not _is_one(data, findings):
        findings.raise_if_any()
    head = read_table(_Head, data, (), findings)
    firmware = tuple(_firmware(data.get("firmware", []), findings))
    sides = tuple(_sides(data.get("scenario", []), findings))
    findings.raise_if_any()
    assert head is not None
    return Baseline(head.unlit, firmware, sides)


def _is_one(data: Mapping[str, Any], findings: Findings) -> bool:
    """Whether the rest is worth reading."""
    if data.get("format") != FORMAT:
        findings.at_value(("format",), f'is no baseline: its first key is format = "{FORMAT}". {KEEP}')
        return False
    if data.get("version") != VERSION:
        what = f"version {shown(data.get('version'))} cannot be read; this unlit reads {VERSION}. {KEEP}"
        findings.at_value(("version",), what)
        return False
    return True


def _tables(raw: object, path: KeyPath, findings: Findings) -> Iterator[tuple[KeyPath, Mapping[str, Any]]]:
    if not isinstance(raw, list):
        findings.at_value(path, f"{path[-1]}: {shown(raw)} is no list of tables")
        return
    for at, one in enumerate(raw):
        if isinstance(one, Mapping):
            yield (*path, at), one
        else:
            findings.at_value((*path, at), f"{path[-1]}: {shown(one)} is no table")


def _firmware(raw: object, findings: Findings) -> Iterator[Firmware]:
    for path, one in _tables(raw, ("firmware",), findings):
        table = read_table(_Firmware, one, path, findings)
        if table is not None:
            yield Firmware(table.name, table.version, tuple(table.build.items()))


def _sides(raw: object, findings: Findings) -> Iterator[Side]:
    seen: set[str] = set()
    if not raw:
        findings.at_key((), f"holds no [[scenario]], so nothing can be compared. {KEEP}")
    for path, one in _tables(raw, ("scenario",), findings):
        table = read_table(_Scenario, one, path, findings)
        kept = tuple(_assertions(one.get("assertions", []), (*path, "assertions"), findings))
        if table is None:
            continue
        if table.file in seen:
            findings.at_value((*path, "file"), f"file: {quoted(table.file)} stands twice. Take one away")
        seen.add(table.file)
        _check_status(table.status, kept, (*path, "status"), findings)
        yield Side(
            scenario=table.file,
            title=table.title,
            status=table.status,  # type: ignore[arg-type]  # one of STATUSES
            plant=table.plant,
            setup=table.setup,
            seed=table.seed,
            pace=table.pace,
            script=table.script,
            signals=table.signals,
            assertions=kept,
        )


def _assertions(raw: object, path: KeyPath, findings: Findings) -> Iterator[Kept]:
    for below, one in _tables(raw, path, findings):
        table = read_table(_Assertion, one, below, findings)
        if table is None:
            continue
        yield Kept(
            table.title, table.outcome, table.margin, table.unit, table.figure, table.value, table.demand
        )


def _check_status(status: str, kept: tuple[Kept, ...], path: KeyPath, findings: Findings) -> None:
    """A merge may have taken one line from here and one from there."""
    outcomes = {one.outcome for one in kept}
    follows = "fail" if Outcome.BROKEN in outcomes else "pass" if outcomes == {Outcome.MET} else STATUSES[2]
    if status != follows and not findings.mistakes:
        what = f"status: {quoted(status)} does not follow from the assertions, which say {quoted(follows)}"
        findings.at_value(path, f"{what}. Keep the baseline anew")
