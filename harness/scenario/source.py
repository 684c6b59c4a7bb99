"""A TOML file as text, as data, and as line numbers. The one module that knows the positions' parser."""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_left
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import spanned_toml

from harness.errors import FileMistakesError, Mistake

LARGEST_BYTES = 1_000_000
HOW_TO_WRITE = "Write a scenario into it; scenarios/README.md shows how."

_PLAINER = (
    ("Cannot overwrite a value", "this key stands twice in its table"),
    (r"Cannot declare \('(.+)',\) twice", r"the table [\1] stands twice"),
    (r"Illegal character '\\n'", "a text lacks its closing quote"),
    ("(Invalid value|Expected newline .*)", r"\1 (text and quantities stand in double quotes)"),
)
"""Words of the parser, and what a person makes more of."""

KeyPath = tuple[str | int, ...]
"""Way to a value: table names, keys, and positions in lists: `("disturbance", 1, "at")`."""


def read_text(path: Path, what: str = "scenario", mend: str = HOW_TO_WRITE) -> str:
    """The text of a scenario, of a file beside it, or of `what`; FileMistakesError where it holds none.

    A byte order mark at the start is dropped. `mend` says what to do about an empty file.
    """
    file = str(path)
    try:
        if not path.is_file():
            raise _refused(file, _no_file(path))
        with path.open("rb") as opened:
            raw = opened.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise _refused(file, f"cannot be read: {reason}. Check the name and its permissions.") from None
    if len(raw) > LARGEST_BYTES:
        raise _refused(file, f"is larger than {LARGEST_BYTES:,} bytes, so no {what}. Name another file.")
    if not raw.strip():
        raise _refused(file, f"is empty. {mend}")
    if b"\0" in raw:
        raise _refused(file, "holds zero bytes, so it is no text file in UTF-8. Save it as UTF-8 text.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        what = f"byte {raw[error.start]:#04x} is not UTF-8. Save the file as UTF-8 text."
        raise FileMistakesError([Mistake(file, line, what)]) from None


def _no_file(path: Path) -> str:
    if path.is_dir():
        return "is a folder. Name a file in it."
    if path.exists():
        return "is neither a file nor a folder. Name a file."
    return "does not exist. Check the name."


def _refused(file: str, what: str) -> FileMistakesError:
    return FileMistakesError([Mistake(file, 0, what)])


def parse_toml(text: str, file: str) -> tuple[dict[str, Any], Places]:
    """The data of a TOML text and where each key and value stands.

    Raises FileMistakesError with the line of the first thing that is not TOML.
    """
    try:
        data = tomllib.loads(text)
        return data, Places(text)
    except tomllib.TOMLDecodeError as error:
        raise FileMistakesError([_not_toml(file, text, str(error))]) from None
    except RecursionError:
        raise _refused(file, "nests lists or tables too deeply. A scenario needs three levels.") from None
    except ValueError as error:  # a whole number of thousands of digits
        raise _refused(file, f"is not TOML: {error}") from None


def _not_toml(file: str, text: str, said: str) -> Mistake:
    match = re.fullmatch(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", said, re.DOTALL)
    if match is None:
        return Mistake(file, 0, f"not TOML: {said}")
    what, line, column = match.groups()
    for pattern, plainer in _PLAINER:
        what = re.sub(pattern, plainer, what)
    if line is None:
        return Mistake(file, text.rstrip("\n").count("\n") + 1, f"not TOML: {what}, at the end of the file")
    return Mistake(file, int(line), f"not TOML: {what}, at column {column}")


class Places:
    """Line numbers of a TOML text's keys and values, counted from 1."""

    def __init__(self, text: str) -> None:
        source = text.replace("\r\n", "\n")  # as the parser does before it counts
        self._line_ends = [match.start() for match in re.finditer("\n", source)]
        self._keys: dict[KeyPath, int] = {(): 1}
        self._values: dict[KeyPath, int] = {(): 1}
        self._inside: set[int] = set()
        self._walk((), spanned_toml.loads(text))
        self._find_headers(source)

    def key(self, path: KeyPath) -> int:
        """Line of the key, or of the table's header; of what holds it where it is not in the text."""
        while path not in self._keys:
            path = path[:-1]
        return self._keys[path]

    def value(self, path: KeyPath) -> int:
        """Line on which the value starts; of the nearest thing that holds it where there is none."""
        while path not in self._values:
            path = path[:-1]
        return self._values[path]

    def _walk(self, path: KeyPath, node: Any) -> None:
        """Note the lines below `node`; a table that a header opened has an empty span."""
        inner, span = node.inner(), node.span()
        if span.stop and path:
            first, last = self._line(span.start), self._line(span.stop)
            self._values[path] = first
            self._keys.setdefault(path, first)
            self._inside.update(range(first + 1, last + 1))
        for name, child in self._children(inner):
            below = (*path, name if isinstance(name, int) else name.inner())
            if not isinstance(name, int):
                self._keys[below] = self._values[below] = self._line(name.span().start)
            self._walk(below, child)

    @staticmethod
    def _children(inner: Any) -> Iterator[tuple[Any, Any]]:
        if isinstance(inner, dict):
            yield from inner.items()
        elif isinstance(inner, list):
            yield from enumerate(inner)

    def _line(self, position: int) -> int:
        return bisect_left(self._line_ends, position) + 1

    def _find_headers(self, source: str) -> None:
        """Lines of `[[name]]` headers, which the parser does not keep; text within values is passed over."""
        seen: dict[str, int] = {}
        for number, line in enumerate(source.split("\n"), 1):
            match = re.match(r"[ \t]*\[\[[ \t]*([\w-]+)[ \t]*\]\]", line)
            if match is None or number in self._inside:
                continue
            name = match[1]
            path = (name, seen.get(name, 0))
            seen[name] = path[1] + 1
            self._keys[path] = self._values[path] = number
