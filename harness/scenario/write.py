"""The text of a scenario from its data: the other way round of `source.parse_toml`."""

from __future__ import annotations

import json
import math
import os
import re
from collections.abc import Iterator, Mapping
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")


class NoTomlError(ValueError):
    """A value that a scenario file cannot hold; `path` leads to it: `("disturbance", 1, "at")`."""

    def __init__(self, path: tuple[str | int, ...], value: object) -> None:
        self.path = path
        shown = f"{type(value).__name__} {value!r:.60}"
        super().__init__(f"{shown} is no value of a scenario. Write text, a number, true, a list or a table")


def to_toml(data: Mapping[str, Any]) -> str:
    """`data` as TOML 1.0: keys, then `[table]`, then `[[table]]`; what is deeper stands in one line.

    A tuple is written as a list, a path as text. Raises NoTomlError.

    >>> print(to_toml({"title": "Idle", "disturbance": [{"kind": "pump-stops", "at": "8 min"}]}))
    title = "Idle"
    <BLANKLINE>
    [[disturbance]]
    kind = "pump-stops"
    at = "8 min"
    <BLANKLINE>
    """
    return "\n".join(_blocks(data)).lstrip("\n")


def to_toml_value(value: object) -> str:
    """A value as it stands behind a key, in one line. Raises NoTomlError."""
    return _value(value, ())


def _blocks(data: Mapping[str, Any]) -> Iterator[str]:
    tables = {key: value for key, value in data.items() if isinstance(value, Mapping)}
    lists = {key: value for key, value in data.items() if _is_tables(value)}
    yield _lines({key: data[key] for key in data if key not in tables and key not in lists}, ())
    for key, table in tables.items():
        yield f"[{_key(key, ())}]\n" + _lines(table, (key,))
    for key, found in lists.items():
        yield from (f"[[{_key(key, ())}]]\n" + _lines(one, (key, at)) for at, one in enumerate(found))


def _is_tables(value: object) -> bool:
    return isinstance(value, list | tuple) and bool(value) and all(isinstance(one, Mapping) for one in value)


def _lines(table: Mapping[str, Any], path: tuple[str | int, ...]) -> str:
    return "".join(f"{_key(key, path)} = {_value(value, (*path, key))}\n" for key, value in table.items())


def _key(key: object, path: tuple[str | int, ...]) -> str:
    if not isinstance(key, str):
        raise NoTomlError(path, key)
    return key if _BARE.fullmatch(key) else _text(key)


def _value(value: object, path: tuple[str | int, ...]) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(int(value))
    if isinstance(value, float):
        return repr(float(value)) if math.isfinite(value) else str(float(value))
    if isinstance(value, str | os.PathLike):
        try:
            return _text(os.fspath(value))
        except (UnicodeEncodeError, TypeError):
            raise NoTomlError(path, value) from None
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(one, (*path, at)) for at, one in enumerate(value)) + "]"
    if isinstance(value, Mapping):
        inside = ", ".join(f"{_key(key, path)} = {_value(one, (*path, key))}" for key, one in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    raise NoTomlError(path, value)


def _text(text: str) -> str:
    """A basic string; JSON's escapes are TOML's too, but for one character that JSON lets stand."""
    text.encode()  # half of a surrogate pair is no text
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
