"""The tables of a scenario file: which keys each takes and of what type.

What depends on the plant (its parameters, kinds and sizes) is checked in `checks`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, WithJsonSchema

from harness.quantity import parse_ms
from harness.scenario import shapes
from harness.scenario.findings import Findings
from harness.scenario.model import BUILTIN, DEVICES, PACES
from harness.scenario.names import listed, nearest, quoted, unknown
from harness.scenario.source import KeyPath

DAY_MS = 24 * 3_600_000
LONGEST_MS = 30 * DAY_MS
CLOCK_MS = 2**32  # the device's clock rolls over here
OUTCOMES = ("pass", "fail", "inconclusive")
LONGEST_LINE = 200
LONGEST_TEXT = 5000
_TOO_LONG = 10**18


def shown(value: object) -> str:
    """A TOML value as a message repeats it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, int) and abs(value) >= _TOO_LONG:
        return "a number of more than 18 digits"
    return str(value)


def _text(value: object, longest: int = LONGEST_TEXT) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{shown(value)} is not text. Write it in double quotes")
    if len(value) > longest:
        raise ValueError(f"{len(value)} characters are too many. Write at most {longest}")
    return value


def _line(value: object) -> str:
    text = _text(value, LONGEST_LINE).strip()
    if not text:
        raise ValueError("is empty. Write some words")
    if not text.isprintable():
        raise ValueError(f"{quoted(text)} holds a line break or control character. Write one line")
    return text


def _console(value: object) -> str:
    text = _line(value)
    if text != value or len(text) > 100 or not text.isascii():
        rule = "1 to 100 ASCII characters without a blank at either end"
        raise ValueError(f"{shown(value)} cannot be sent. Write {rule}")
    return text


def _expression(value: object) -> str:
    text = _text(value).strip()
    if not text:
        raise ValueError('is empty. Write a condition, such as "flame and liquor > 50 degC"')
    return text


def _limit(value: object) -> str:
    """A bound: a quantity as text, or a bare number as TOML writes it."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return shown(value)
    text = _text(value, LONGEST_LINE).strip()
    if not text:
        raise ValueError('is empty. Write a bound, such as 3 or "1.5 K"')
    return text


def _default(value: object) -> str | int:
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    return _line(value)


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"{shown(value)} is neither true nor false")
    return value


def _outcome(value: object) -> str:
    if value not in OUTCOMES:
        raise ValueError(f'{shown(value)} is none of "pass", "fail", "inconclusive"')
    return str(value)


def _device(value: object) -> str:
    if value not in DEVICES:
        known = listed(DEVICES)
        raise ValueError(f"{shown(value)} is no built-in controller; {known}. Leave others to --device")
    return str(value)


def _pace(value: object) -> str:
    if value not in PACES:
        raise ValueError(f'{shown(value)} is neither "lockstep" nor "wall"')
    return str(value)


def _whole(low: int, high: int) -> Callable[[object], int]:
    def read(value: object) -> int:
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            raise ValueError(f"{shown(value)} is not a whole number from {low} to {high}")
        return value

    return read


def _time(low_ms: int, high_ms: int, span: str) -> Callable[[object], int]:
    def read(value: object) -> int:
        if isinstance(value, int | float) and not isinstance(value, bool):
            raise ValueError(f'{shown(value)} has no unit. Write for example "{shown(value)} s"')
        if not isinstance(value, str):
            raise ValueError(f'{shown(value)} is not a time. Write for example "8 min"')
        ms = parse_ms(value)
        if not low_ms <= ms <= high_ms:
            raise ValueError(f"{quoted(value)} is out of range. Give {span}")
        return ms

    return read


def _themes(value: object) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise ValueError(f'{shown(value)} is not a list. Write for example ["flame-failure"]')
    return tuple(_line(one) for one in value)


_LINE, _WHOLE = shapes.line(LONGEST_LINE), shapes.whole(0, CLOCK_MS - 1)
_BOUND = {"anyOf": [{"type": "number"}, _LINE]}

Line = Annotated[str, BeforeValidator(_line), WithJsonSchema(_LINE)]
Text = Annotated[str, BeforeValidator(_text), WithJsonSchema(shapes.text(LONGEST_TEXT))]
Expression = Annotated[str, BeforeValidator(_expression), WithJsonSchema(shapes.line(LONGEST_TEXT))]
Limit = Annotated[str, BeforeValidator(_limit), WithJsonSchema(_BOUND)]
Default = Annotated[
    str | int, BeforeValidator(_default), WithJsonSchema({"anyOf": [{"type": "integer"}, _LINE]})
]
Console = Annotated[str, BeforeValidator(_console), WithJsonSchema(shapes.line(100))]
Outcome = Annotated[str, BeforeValidator(_outcome), WithJsonSchema(shapes.words(*OUTCOMES))]
Device = Annotated[str, BeforeValidator(_device), WithJsonSchema(shapes.words(*DEVICES))]
Pace = Annotated[str, BeforeValidator(_pace), WithJsonSchema(shapes.words(*PACES))]
Themes = Annotated[
    tuple[str, ...], BeforeValidator(_themes), WithJsonSchema({"type": "array", "items": _LINE})
]
Seed = Annotated[int, BeforeValidator(_whole(0, CLOCK_MS - 1)), WithJsonSchema(_WHOLE)]
Times = Annotated[int, BeforeValidator(_whole(2, 10_000)), WithJsonSchema(shapes.whole(2, 10_000))]
_AS_TIME = WithJsonSchema(shapes.TIME)
Moment = Annotated[int, BeforeValidator(_time(0, LONGEST_MS, '"0 s" to "720 h"')), _AS_TIME]
Span = Annotated[int, BeforeValidator(_time(1, LONGEST_MS, '"1 ms" to "720 h"')), _AS_TIME]
Step = Annotated[int, BeforeValidator(_time(10, 10_000, '"10 ms" to "10 s"')), _AS_TIME]
Late = Annotated[int, BeforeValidator(_time(1, 10_000, '"1 ms" to "10 s"')), _AS_TIME]
Start = Annotated[int, BeforeValidator(_time(0, CLOCK_MS - 1, f'"0 s" to "{CLOCK_MS - 1} ms"')), _AS_TIME]


class Table(BaseModel):
    """A table whose keys are all known."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class HeadTable(Table):
    """The whole file; its inner tables are read one by one."""

    title: Line
    why: Text = ""
    plant: Line
    length: Span
    exchange_every: Step = 250
    start_at: Start = 0
    device: Device = BUILTIN
    pace: Pace = PACES[0]
    late_limit: Late = 50
    seed: Seed = 1
    themes: Themes = ()
    expected: Outcome = "pass"
    stop_at_first_break: Annotated[bool, BeforeValidator(_flag)] = False
    notes: Text = ""
    wiring: Any = None
    plant_setup: Any = None
    panel: Any = None
    disturbance: Any = None
    require: Any = None
    assertion: Any = None


class DisturbanceTable(BaseModel):
    """One `[[disturbance]]`; further keys are sizes of its kind."""

    model_config = ConfigDict(extra="allow", frozen=True, defer_build=True)

    kind: Line
    place: Line | None = None
    at: Moment | None = None
    when: Expression | None = None
    for_: Span | None = Field(None, alias="for")
    until: Moment | None = None
    ramp: Span | None = None
    fade: Span | None = None
    repeat_every: Span | None = None
    times: Times | None = None
    panel: Any = None
    text: Console = ""


class AssertionTable(Table):
    """One `[[assertion]]`; which keys go together is the assertions' own business."""

    title: Line
    basis: Text = ""
    always: Expression | None = None
    never: Expression | None = None
    sometime: Expression | None = None
    after: Expression | None = None
    within: Moment | None = None
    expect: Expression | None = None
    while_: Expression | None = Field(None, alias="while")
    grace: Moment | None = None
    held: Moment | None = None
    before: Expression | None = None
    again: Expression | None = None
    count: Expression | None = None
    each: Expression | None = None
    figure: Expression | None = None
    at_least: Limit | None = None
    at_most: Limit | None = None


class SetTable(Table):
    """A requirement set's file; its inner tables are read one by one."""

    title: Line
    about: Text = ""
    parameter: Any = None
    assertion: Any = None


class SetParameterTable(Table):
    """One `[parameter.NAME]` of a requirement set."""

    default: Default | None = None
    example: Default | None = None
    about: Text
    basis: Text = ""


_EXAMPLE = {
    "title": 'title = "Flame lost while heating"',
    "plant": 'plant = "herms-gas"',
    "length": 'length = "25 min"',
    "kind": 'kind = "flame-lost"',
}


def keys_of(table: type[BaseModel]) -> list[str]:
    """The keys that a table takes, as they are written."""
    return [field.alias or name for name, field in table.model_fields.items()]


AnyTable = TypeVar("AnyTable", bound=BaseModel)


def read_table(
    table: type[AnyTable], raw: Mapping[str, Any], path: KeyPath, findings: Findings
) -> AnyTable | None:
    """`raw` as `table`; None after its mistakes have been noted."""
    try:
        return table.model_validate(raw)
    except ValidationError as error:
        for one in error.errors(include_url=False, include_input=False):
            _note(table, str(one["loc"][0]), one, path, findings)
        return None


def _note(table: type[BaseModel], key: str, error: Any, path: KeyPath, findings: Findings) -> None:
    if error["type"] == "extra_forbidden":
        findings.at_key((*path, key), unknown_key(key, keys_of(table), path))
    elif error["type"] == "missing":
        example = f", such as {_EXAMPLE[key]}" if key in _EXAMPLE else ""
        findings.at_key(path, f'missing key "{key}"{example}')
    else:
        said = error["ctx"]["error"] if error["type"] == "value_error" else error["msg"]
        findings.at_value((*path, key), f"{key}: {said}")


def unknown_key(key: str, known: list[str], path: KeyPath, what: str = "key") -> str:
    """Message for a key that its table does not take; `what` says what the table's keys are."""
    if path and key in keys_of(HeadTable) and not nearest(key, known):
        return f"unknown {what} {quoted(key)} here: it belongs above the first [table] of the file"
    return unknown(what, key, known)
