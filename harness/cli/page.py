"""unlit page"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from harness.cli.options import DEFAULT_LOGBOOK, LogbookOption, Whole


def page(
    *runs: Annotated[Whole, Parameter(negative=())],
    out: Path | None = None,
    logbook: LogbookOption = DEFAULT_LOGBOOK,
) -> int:
    """Write a run as one HTML page that opens offline; several runs beside each other.

    Parameters
    ----------
    runs
        Their numbers, as `unlit runs` lists them.
    out
        The file to write; without it `unlit-run-N.html` in this folder.
    """
    from harness.cli.whole_file import cannot_write, spare, special, whole_file
    from harness.errors import WrongUseError
    from harness.logbook import Logbook
    from harness.report.page.write import MOST_RUNS, page
    from harness.report.plain import plain

    if not runs or len(runs) > MOST_RUNS:
        given = f"{len(runs)} runs are too many" if runs else "no run is named"
        raise WrongUseError(
            f"unlit page: {given}. Give one to {MOST_RUNS} numbers of `unlit runs`, as in `unlit page 3`."
        )
    if len(set(runs)) < len(runs):
        raise WrongUseError("unlit page: a run is named twice. Name each once.")
    book = Logbook(logbook)
    text = page([book.read(run) for run in runs])
    numbers = "-".join(str(run) for run in runs)
    target = out or Path(f"unlit-run{'s' * (len(runs) > 1)}-{numbers}.html")
    spare(logbook, [target], "unlit page")
    try:
        with whole_file(target) as part:
            part.write_text(text, encoding="utf-8")
    except OSError as error:
        raise WrongUseError(f"unlit page: --out {cannot_write(target, error)}") from error
    if not special(target):  # else the page itself may stand where this would
        print(plain(f"{target}: {len(text.encode()) / 1e6:.1f} MB"))
    return 0
