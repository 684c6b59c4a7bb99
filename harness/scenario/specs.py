"""One `[[assertion]]` table as an assertion, its keys and types checked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from harness.assertions.spec import KEYS, AssertionSpec
from harness.scenario.findings import Findings
from harness.scenario.source import KeyPath
from harness.scenario.tables import AssertionTable, read_table


def read_spec(raw: Mapping[str, Any], path: KeyPath, findings: Findings) -> AssertionSpec | None:
    """`raw` as an assertion; None after its mistakes have been noted."""
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
