"""The tables of a scenario file and of a requirement set: which keys each takes.

What depends on the plant (its parameters, kinds and sizes) is checked where it is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from harness.scenario.findings import Findings
from harness.scenario.forms import (
    CONSOLE,
    DEFAULT,
    DEVICE,
    EXPRESSION,
    FLAG,
    INNER,
    LATE,
    LIMIT,
    LINE,
    MOMENT,
    OUTCOME,
    PACE,
    SEED,
    SPAN,
    START,
    STEP,
    TEXT,
    THEMES,
    TIMES,
)
from harness.scenario.model import BUILTIN, PACES
from harness.scenario.names import nearest, quoted, unknown
from harness.scenario.source import KeyPath
from harness.scenario.table import Table, key


class HeadTable(Table):
    """The whole file; its inner tables are read one by one."""

    title = key(LINE, example='title = "Flame lost while heating"')
    why = key(TEXT, "")
    plant = key(LINE, example='plant = "herms-gas"')
    length = key(SPAN, example='length = "25 min"')
    exchange_every = key(STEP, 250)
    start_at = key(START, 0)
    device = key(DEVICE, BUILTIN)
    pace = key(PACE, PACES[0])
    late_limit = key(LATE, 50)
    seed = key(SEED, 1)
    themes = key(THEMES, ())
    expected = key(OUTCOME, "pass")
    stop_at_first_break = key(FLAG, False)
    notes = key(TEXT, "")
    wiring = key(INNER, None)
    plant_setup = key(INNER, None)
    panel = key(INNER, None)
    disturbance = key(INNER, None)
    require = key(INNER, None)
    assertion = key(INNER, None)


class DisturbanceTable(Table, open=True):
    """One `[[disturbance]]`; further keys are sizes of its kind."""

    kind = key(LINE, example='kind = "flame-lost"')
    place = key(LINE, None)
    at = key(MOMENT, None)
    when = key(EXPRESSION, None)
    for_ = key(SPAN, None, name="for")
    until = key(MOMENT, None)
    ramp = key(SPAN, None)
    fade = key(SPAN, None)
    repeat_every = key(SPAN, None)
    times = key(TIMES, None)
    panel = key(INNER, None)
    text = key(CONSOLE, "")


class AssertionTable(Table):
    """One `[[assertion]]`; which keys go together is the assertions' own business."""

    title = key(LINE, example='title = "Flame lost while heating"')
    basis = key(TEXT, "")
    always = key(EXPRESSION, None)
    never = key(EXPRESSION, None)
    sometime = key(EXPRESSION, None)
    after = key(EXPRESSION, None)
    within = key(MOMENT, None)
    expect = key(EXPRESSION, None)
    while_ = key(EXPRESSION, None, name="while")
    grace = key(MOMENT, None)
    held = key(MOMENT, None)
    before = key(EXPRESSION, None)
    again = key(EXPRESSION, None)
    count = key(EXPRESSION, None)
    each = key(EXPRESSION, None)
    figure = key(EXPRESSION, None)
    at_least = key(LIMIT, None)
    at_most = key(LIMIT, None)


class SetTable(Table):
    """A requirement set's file; its inner tables are read one by one."""

    title = key(LINE, example='title = "Flame lost while heating"')
    about = key(TEXT, "")
    parameter = key(INNER, None)
    assertion = key(INNER, None)


class SetParameterTable(Table):
    """One `[parameter.NAME]` of a requirement set."""

    default = key(DEFAULT, None)
    example = key(DEFAULT, None)
    about = key(TEXT)
    basis = key(TEXT, "")


AnyTable = TypeVar("AnyTable", bound=Table)


def read_table(
    table: type[AnyTable], raw: Mapping[str, Any], path: KeyPath, findings: Findings
) -> AnyTable | None:
    """`raw` as `table`; None after its mistakes have been noted."""
    values: dict[str, Any] = {}
    right = True
    for name, one in table.keys.items():
        if name in raw:
            try:
                values[name] = one.form.read(raw[name])
            except ValueError as error:
                findings.at_value((*path, name), f"{name}: {error}")
                right = False
        elif one.required:
            findings.at_key(path, f'missing key "{name}"{one.example and f", such as {one.example}"}')
            right = False
    for name in raw:
        if name not in table.keys and not table.open:
            findings.at_key((*path, name), unknown_key(name, list(table.keys), path))
            right = False
    return table(values) if right else None


def unknown_key(key: str, known: list[str], path: KeyPath, what: str = "key") -> str:
    """Message for a key that its table does not take; `what` says what the table's keys are."""
    if path and key in HeadTable.keys and not nearest(key, known):
        return f"unknown {what} {quoted(key)} here: it belongs above the first [table] of the file"
    return unknown(what, key, known)
