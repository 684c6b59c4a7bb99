"""The `[[assertion]]` tables: types and titles here, their patterns in `harness.assertions`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from harness.assertions import check_spec
from harness.assertions.spec import KEYS, AssertionSpec
from harness.scenario.disturbances import DEVICE_PREFIXES, tables_of
from harness.scenario.findings import Findings
from harness.scenario.names import quoted
from harness.scenario.source import KeyPath
from harness.scenario.tables import AssertionTable, read_table

if TYPE_CHECKING:
    from plants import Plant


def read_assertions(raw: object, plant: type[Plant] | None, findings: Findings) -> tuple[AssertionSpec, ...]:
    """The list of `[[assertion]]` tables, those that are right; none at all is a mistake."""
    if not raw:
        findings.at_key((), "states no assertion, so nothing would be judged. Add an [[assertion]]")
        return ()
    units = {signal.name: signal.unit for signal in plant.signals} if plant else None
    first: dict[str, int] = {}
    specs = []
    for i, one in tables_of(raw, "assertion", findings):
        path = ("assertion", i)
        _check_title(one.get("title"), path, first, findings)
        spec = _read_spec(one, path, findings)
        if spec is None:
            continue
        specs.append(spec)
        for key, what in check_spec(spec, units, DEVICE_PREFIXES) if units is not None else ():
            findings.at_value((*path, key) if key else path, f"{key}: {what}" if key else what)
    return tuple(specs)


def _check_title(title: object, path: KeyPath, first: dict[str, int], findings: Findings) -> None:
    if not isinstance(title, str):
        return
    line = findings.places.value((*path, "title"))
    if first.setdefault(title.strip(), line) != line:
        what = f"title: {quoted(title.strip())} is the title of line {first[title.strip()]} too. Give another"
        findings.at_value((*path, "title"), what)


def _read_spec(raw: Mapping[str, Any], path: KeyPath, findings: Findings) -> AssertionSpec | None:
    table = read_table(AssertionTable, raw, path, findings)
    if table is None:
        return None
    places = findings.places
    lines = {key: places.value((*path, key)) for key in KEYS} | {"": places.key(path)}
    return AssertionSpec(
        title=table.title,
        basis=table.basis.strip(),
        always=table.always,
        never=table.never,
        sometime=table.sometime,
        after=table.after,
        within_ms=table.within,
        expect=table.expect,
        held_ms=table.held,
        while_=table.while_,
        grace_ms=table.grace,
        before=table.before,
        again=table.again,
        count=table.count,
        each=table.each,
        figure=table.figure,
        at_least=table.at_least,
        at_most=table.at_most,
        lines=lines,
        file=findings.file,
    )
