"""Options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from harness.logbook.file import DEFAULT_FILE

LogbookOption = Annotated[Path, Parameter(help="The file that keeps the runs.")]
DEFAULT_LOGBOOK = DEFAULT_FILE
