"""What must hold: required sets and `[[assertion]]` tables; their patterns in `harness.assertions`."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

from harness.assertions import check_spec
from harness.assertions.spec import AssertionSpec
from harness.scenario.disturbances import DEVICE_PREFIXES, tables_of
from harness.scenario.findings import Findings
from harness.scenario.names import quoted
from harness.scenario.require import read_requirements
from harness.scenario.source import KeyPath
from harness.scenario.specs import read_spec

if TYPE_CHECKING:
    from plants import Plant


def read_assertions(
    raw: object,
    require: object,
    plant: type[Plant] | None,
    findings: Findings,
    beside: Mapping[str, str] = MappingProxyType({}),
) -> tuple[AssertionSpec, ...]:
    """What the required sets and the `[[assertion]]` tables state; nothing at all is a mistake.

    `beside` are signals that are recorded beside the plant's own, with units.
    """
    if not raw and not require:
        findings.at_key((), "states no assertion, so nothing would be judged. Add an [[assertion]]")
        return ()
    units = {signal.name: signal.unit for signal in plant.signals} | dict(beside) if plant else None
    first: dict[str, int] = {}
    specs = read_requirements(require, plant, findings)
    for spec in specs:
        if first.setdefault(spec.title, spec.required_at) != spec.required_at:
            what = f"use: {quoted(spec.title)} stands in line {first[spec.title]} too. Leave it out by parts"
            findings.at_line(spec.required_at, what)
    for i, one in tables_of(raw or [], "assertion", findings):
        path = ("assertion", i)
        _check_title(one.get("title"), path, first, findings)
        own = read_spec(one, path, findings)
        if own is None:
            continue
        specs.append(own)
        for key, what in check_spec(own, units, DEVICE_PREFIXES) if units is not None else ():
            findings.at_value((*path, key) if key else path, f"{key}: {what}" if key else what)
    return tuple(specs)


def _check_title(title: object, path: KeyPath, first: dict[str, int], findings: Findings) -> None:
    if not isinstance(title, str):
        return
    line = findings.places.value((*path, "title"))
    if first.setdefault(title.strip(), line) != line:
        what = f"title: {quoted(title.strip())} is the title of line {first[title.strip()]} too. Give another"
        findings.at_value((*path, "title"), what)
