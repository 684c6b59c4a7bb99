"""unlit export"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from harness.cli.options import DEFAULT_LOGBOOK, LogbookOption, Whole

if TYPE_CHECKING:
    from harness.logbook import RunRecord

    Writer = Callable[[RunRecord, Sequence[str], Path], None]


def export(
    run: Whole,
    /,
    *files: Path,
    signal: Annotated[list[str] | None, Parameter(negative=())] = None,
    logbook: LogbookOption = DEFAULT_LOGBOOK,
) -> int:
    """Write a run's signals to files that other programs read: CSV, Parquet, VCD.

    Parameters
    ----------
    run
        Its number, as `unlit runs` lists it.
    files
        Each ends in .csv, .parquet or .vcd (only what is on or off); one that is there is replaced.
    signal
        Only this signal; may be given several times.
    """
    from harness.cli.whole_file import cannot_write, spare, whole_file
    from harness.errors import LogbookError, WrongUseError
    from harness.logbook import Logbook

    writers = [(path, _writer(path)) for path in files or _none()]
    spare(logbook, files, "unlit export")
    record = Logbook(logbook).read(run)
    names = _chosen(record, signal)
    for path, write in writers:
        try:
            with whole_file(path) as part:
                write(record, names, part)
        except WrongUseError as error:
            raise WrongUseError(f"unlit export: {path}: {error}") from None
        except OSError as error:
            raise LogbookError(f"unlit export: {cannot_write(path, error)}") from None
    for path, _ in writers:
        print(path)
    _say_doubts(record)
    return 0


def _none() -> list[Path]:
    from harness.errors import WrongUseError

    raise WrongUseError("unlit export: name a file to write to, such as run.csv, run.parquet or run.vcd.")


def _writer(path: Path) -> Writer:
    from harness.errors import WrongUseError

    ending = path.suffix.lower()
    if ending == ".csv":
        from harness.export.csv_file import write_csv

        return write_csv
    if ending == ".parquet":
        from harness.export.parquet_file import write_parquet

        return write_parquet
    if ending == ".vcd":
        from harness.export.vcd_file import write_vcd

        return write_vcd
    raise WrongUseError(f"unlit export: {path}: ends in none of .csv, .parquet, .vcd. Name the file so.")


def _chosen(record: RunRecord, asked: Sequence[str] | None) -> list[str]:
    """The signals to write, each once; a name that was not recorded is told before a file is touched."""
    from harness.errors import WrongUseError

    names = list(dict.fromkeys(asked or record.names))
    times, _ = record.signals(names)
    if not len(times):
        raise WrongUseError(f"unlit export: run {record.summary.run_id} recorded no values.")
    return names


def _say_doubts(record: RunRecord) -> None:
    summary = record.summary
    if summary.interrupted:
        print(f"run {summary.run_id} was interrupted: this is what it had recorded by then")
    elif summary.shown_status == "running":
        print(f"run {summary.run_id} still goes on: this is what it has recorded so far")
    if summary.end.digest not in ("", record.computed_digest()):
        print("the signals read back are not those that were judged: the file was altered or damaged")
