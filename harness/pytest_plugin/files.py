"""Which files are scenarios."""

from __future__ import annotations

import re
from pathlib import Path

OTHERS = (".wiring.toml", ".set.toml")

#: A line that no other kind of file has: one misspelled key must not make a scenario pass unseen.
MARK = re.compile(
    rb"^[ \t]*(plant[ \t]*=|\[\[[ \t]*(disturbance|assertion|require)[ \t]*\]\]|\[[ \t]*plant_setup[ \t]*\])",
    re.MULTILINE,
)
MOST_BYTES = 1_000_000


def is_scenario(path: Path, *, named: bool) -> bool:
    """Whether a `.toml` file is a scenario: one that a person named, or one with a mark of a scenario in it.

    Wiring files and requirement sets are none, and neither is `pyproject.toml`.
    """
    if path.name.endswith(OTHERS):
        return False
    if named:
        return True
    try:
        with path.open("rb") as file:
            return MARK.search(file.read(MOST_BYTES)) is not None
    except OSError:
        return False
