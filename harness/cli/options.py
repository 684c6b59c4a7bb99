"""Options that several commands share."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

from cyclopts import Parameter

from harness.logbook.file import DEFAULT_FILE

LogbookOption = Annotated[Path, Parameter(help="The file that keeps the runs.")]
DEFAULT_LOGBOOK = DEFAULT_FILE


def _whole(kind: Any, tokens: Sequence[Any]) -> int:
    """A count or a number of a run. The parser of options would round: 1.5 would be run 2."""
    text = tokens[0].value
    if not re.fullmatch(r"[+-]?[0-9]{1,18}", text):
        raise ValueError(f'"{text}" is no whole number. Write one such as 3')
    return int(text)


Whole = Annotated[int, Parameter(converter=_whole)]
