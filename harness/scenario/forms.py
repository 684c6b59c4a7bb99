"""What the keys of scenario, set and baseline files take: each form reads a value of TOML, or refuses it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from harness.quantity import parse_ms
from harness.scenario import shapes
from harness.scenario.model import DEVICES, PACES
from harness.scenario.names import listed, quoted
from harness.scenario.table import Form

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


def _any(value: object) -> Any:
    return value


_LINE = shapes.line(LONGEST_LINE)

LINE = Form(_line, _LINE)
TEXT = Form(_text, shapes.text(LONGEST_TEXT))
EXPRESSION = Form(_expression, shapes.line(LONGEST_TEXT))
LIMIT = Form(_limit, {"anyOf": [{"type": "number"}, _LINE]})
DEFAULT = Form(_default, {"anyOf": [{"type": "integer"}, _LINE]})
CONSOLE = Form(_console, shapes.line(100))
FLAG = Form(_flag, {"type": "boolean"})
OUTCOME = Form(_outcome, shapes.words(*OUTCOMES))
DEVICE = Form(_device, shapes.words(*DEVICES))
PACE = Form(_pace, shapes.words(*PACES))
THEMES = Form(_themes, {"type": "array", "items": _LINE})
SEED = Form(_whole(0, CLOCK_MS - 1), shapes.whole(0, CLOCK_MS - 1))
TIMES = Form(_whole(2, 10_000), shapes.whole(2, 10_000))
MOMENT = Form(_time(0, LONGEST_MS, '"0 s" to "720 h"'), shapes.TIME)
SPAN = Form(_time(1, LONGEST_MS, '"1 ms" to "720 h"'), shapes.TIME)
STEP = Form(_time(10, 10_000, '"10 ms" to "10 s"'), shapes.TIME)
LATE = Form(_time(1, 10_000, '"1 ms" to "10 s"'), shapes.TIME)
START = Form(_time(0, CLOCK_MS - 1, f'"0 s" to "{CLOCK_MS - 1} ms"'), shapes.TIME)
INNER = Form(_any, {})
"""A table or list that is read by itself."""
