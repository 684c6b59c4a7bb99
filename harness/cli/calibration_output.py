"""What the calibration commands share once they know what is wanted: progress, files, what is printed."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

from harness.cli.given import wrong
from harness.errors import UnlitError

if TYPE_CHECKING:
    from rich.console import RenderableType

    from harness.calibration.record import HeatRecord

NOT_TOLD = 3


class Watch:
    """Progress on standard error, and the wall time that passed; used in a `with`.

    Of bench time with an exchange `every_ms`, or of a count of `things` where that is named.
    """

    def __init__(self, title: str, every_ms: int = 1, things: str = "") -> None:
        from harness.report.console import console
        from harness.report.progress import CountProgress, RunProgress

        shown = console(stderr=True)
        self.progress = CountProgress(shown, title, things) if things else RunProgress(shown, title, every_ms)
        self.wall_s = 0.0

    def __enter__(self) -> Watch:
        self._begun = time.perf_counter()
        self.progress.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.progress.__exit__(kind, error, trace)
        self.wall_s = time.perf_counter() - self._begun


def show(block: Callable[[bool], Iterable[RenderableType]]) -> None:
    """Print a block; without braille where the output cannot carry it."""
    from harness.report.console import console

    out = console()
    for line in block(not (out.encoding or "").lower().startswith("utf")):
        out.print(line)


def writable(command: str, paths: Mapping[str, Path | None], needed: Iterable[Path] = ()) -> None:
    """Refuse a file that cannot be written, is `needed`, or is named twice, before anything is played."""
    taken = {os.path.realpath(path): "is needed as it is" for path in needed}
    for option, path in paths.items():
        if path is None:
            continue
        real = os.path.realpath(path)
        if real in taken:
            raise wrong(command, f"--{option} {path}: {taken[real]}. Name another file")
        there = os.path.exists(real)
        try:
            with path.open("a", encoding="utf-8"):
                pass
        except OSError as error:
            raise wrong(command, f"--{option} {path}: cannot be written: {error.strerror}") from None
        if not there:
            path.unlink()
        if not there or path.is_file():  # several may go to one pipe
            taken[real] = f"is what --{option} writes"


def write_files(
    json_path: Path | None, csv_path: Path | None, record: HeatRecord, data: Callable[[], dict[str, Any]]
) -> None:
    """Write the files that were asked for."""
    from harness.calibration.step_test.table import write_table

    if csv_path is not None:
        write_table(csv_path, record)
    if json_path is not None:
        write_text(json_path, json.dumps(data(), indent=1, allow_nan=False) + "\n")


def write_text(path: Path, text: str) -> None:
    """Write a file that was asked for, whole or not at all."""
    from harness.cli.whole_file import cannot_write, whole_file

    try:
        with whole_file(path) as part:
            part.write_text(text, encoding="utf-8")
    except OSError as error:
        raise UnlitError(cannot_write(path, error)) from error
