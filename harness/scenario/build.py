"""A scenario built in Python: the same keys, the same checks, mistakes at the line of the call."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from harness.errors import FileMistakesError, Mistake
from harness.quantity import printable
from harness.scenario.findings import Findings
from harness.scenario.load import Plants, read_scenario
from harness.scenario.model import Scenario
from harness.scenario.source import KeyPath, parse_toml
from harness.scenario.write import NoTomlError, to_toml


class CallLine:
    """Stands for `Places` where all keys and values come from one call."""

    def __init__(self, line: int) -> None:
        self._line = line

    def key(self, path: KeyPath) -> int:
        """The line of the call, whatever the key."""
        return self._line

    value = key


class CallFindings(Findings):
    """Mistakes of one call: the line does not tell which table is meant, so the message does."""

    def at_key(self, path: KeyPath, what: str) -> None:
        super().at_key(path, _where(path) + what)

    def at_value(self, path: KeyPath, what: str) -> None:
        super().at_value(path, _where(path) + what)


def build_scenario(data: Mapping[str, Any], file: str, line: int, plants: Plants | None = None) -> Scenario:
    """The scenario that `data` states, with the keys of a scenario file.

    `file` and `line` are where the call stands; wiring files, own plants and sets are looked for beside it.
    The scenario's `text` is the file that says the same.

    Raises
    ------
    FileMistakesError
        With every mistake.
    """
    try:
        text = f"# {printable(file)}:{line}\n{to_toml(data)}"
    except NoTomlError as error:
        raise FileMistakesError([Mistake(file, line, f"{_where(error.path)}{error}.")]) from None
    plain, _ = parse_toml(text, file)
    return read_scenario(plain, text, CallFindings(file, CallLine(line)), plants)


def _where(path: KeyPath) -> str:
    """`("disturbance", 1, "at")` as `disturbance[1]: `; nothing for a key of the head."""
    if len(path) > 1 and isinstance(path[1], int):
        return f"{path[0]}[{path[1]}]: "
    return f"{path[0]}: " if len(path) > 1 else ""
