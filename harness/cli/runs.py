"""unlit runs"""

from __future__ import annotations

from harness.cli.options import DEFAULT_LOGBOOK, LogbookOption, Whole


def runs(*, last: Whole = 20, logbook: LogbookOption = DEFAULT_LOGBOOK) -> int:
    """List the runs in the logbook.

    Parameters
    ----------
    last
        How many, counted from the newest.
    """
    from harness.errors import WrongUseError
    from harness.logbook import Logbook
    from harness.report.console import console
    from harness.report.runs import runs_table

    if last < 1:
        raise WrongUseError(f"unlit runs: --last {last} lists nothing. Give 1 or more.")
    console().print(runs_table(Logbook(logbook).runs(last)))
    return 0
