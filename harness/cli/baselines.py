"""The baselines of `unlit run`: the one it is compared with, and the one it leaves."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from harness.bench.result import RunResult
from harness.cli.find import SUFFIX, locate
from harness.cli.whole_file import cannot_write, try_whole_file, whole_file
from harness.errors import UnlitError, WrongUseError
from harness.logbook import Logbook
from harness.quantity import QuantityError, parse_quantity

if TYPE_CHECKING:
    from rich.console import RenderableType

    from harness.report.account import ComparisonAccount
    from harness.report.comparison.baseline import Baseline
    from harness.report.comparison.side import Side
    from harness.report.comparison.tolerance import Tolerance


#: Of the lines for result files. [columns]
WIDTH = 100


@dataclass(frozen=True)
class Comparison:
    """What a person is told, the exit code, and what result files hold."""

    lines: tuple[RenderableType, ...]
    code: int
    account: ComparisonAccount


class Baselines:
    """Reads `against` at once, so that its mistakes are told before anything is played.

    `names`: what a person named to be played. `others`: files of the session that must stay as they are.
    WrongUseError or FileMistakesError where something of it is wrong.
    """

    def __init__(
        self,
        against: Path | None,
        keep: Path | None,
        tolerance: Sequence[str] | None,
        names: Sequence[str],
        others: Iterable[str],
    ) -> None:
        self._against, self._keep, self._names = against, keep, names
        self._known: Baseline | None = None
        self._tolerance: Tolerance | None = None
        if tolerance and against is None:
            raise WrongUseError("unlit run: --tolerance is for a comparison. Name a --baseline.")
        if against is not None:
            from harness.report.comparison.read import read_baseline

            self._tolerance = tolerance_of("run", tolerance)
            self._known = read_baseline(against)
        if keep is not None:
            _check_place(keep, names, [*others, *([str(against)] if against else [])])

    def __bool__(self) -> bool:
        return self._against is not None or self._keep is not None

    @property
    def files(self) -> list[str]:
        """Both, as far as named."""
        return [str(path) for path in (self._against, self._keep) if path is not None]

    def comparison(self, results: Sequence[RunResult], logbook: Logbook) -> Comparison | None:
        """The session beside its baseline; None where nothing is to be compared."""
        if self._against is None or self._known is None or self._tolerance is None:
            return None
        from harness.report.account import ComparisonAccount
        from harness.report.comparison.changes import EXIT_CODE, Kind, compare_all, gravest
        from harness.report.comparison.told import session_blocks
        from harness.report.console import as_text

        path, known = str(self._against), self._known
        try:
            now = self._sides(results, logbook, self._against)
            before = [side for side in known.sides if side.scenario in now or self._asked(side.scenario)]
            compared = compare_all(before, now.values(), self._tolerance)
        except UnlitError as error:
            told = f"not compared with {path}: {error}"
            account = ComparisonAccount(path, Kind.UNTOLD.value, (told,))
            return Comparison((told,), error.exit_code, account)
        standing, lines = gravest(compared), tuple(session_blocks(compared, known, path))
        account = ComparisonAccount(path, standing.value, tuple(as_text(lines, WIDTH)))
        return Comparison(lines, EXIT_CODE[standing], account)

    @staticmethod
    def _sides(results: Sequence[RunResult], logbook: Logbook, file: Path) -> dict[str, Side]:
        """Of each run what is compared, by the scenario's name in the baseline `file`."""
        from harness.report.comparison.baseline import named_from
        from harness.report.comparison.side import side_of

        sides = (side_of(logbook.read(one.run_id), named_from(file, one.scenario_file)) for one in results)
        return {side.scenario: side for side in sides}

    def _asked(self, scenario: str) -> bool:
        """Whether a scenario of the baseline lies in a folder that was to be played."""
        from harness.report.comparison.baseline import named_from

        assert self._against is not None
        folders = [locate(name) for name in self._names if locate(name).is_dir()]
        homes = [named_from(self._against, str(folder)) for folder in folders]
        return any(home == "." or scenario.startswith(f"{home}/") for home in homes)

    def keep(self, results: Sequence[RunResult], logbook: Logbook, *, left: int) -> str:
        """Write the baseline and say so; empty where none was asked for.

        UnlitError where it cannot be written, or a run shows less than it should: `left` were not played.
        """
        if self._keep is None:
            return ""
        from harness.report.comparison.baseline import as_text, baseline_of, firmware_of
        from harness.report.figures import count

        doubtful = [one for one in results if one.reasons or one.stopped]
        if left or doubtful or not results:
            what = f"run {doubtful[0].run_id} is doubtful: {doubtful[0].reasons[0]}" if doubtful else ""
            what = what or f"{count(left, 'scenario')} came to no end"
            raise UnlitError(f"unlit run: no baseline is kept: {what}. Play again what was cut short.")
        sides = self._sides(results, logbook, self._keep)
        who = [firmware_of(logbook.read(one.run_id)) for one in results]
        text = as_text(baseline_of(sides.values(), who))
        try:
            with whole_file(self._keep) as part:
                part.write_text(text, encoding="utf-8", newline="\n")
        except OSError as error:
            shown = f"--keep-baseline {self._keep}"
            raise UnlitError(f"unlit run: {cannot_write(shown, error)}") from None
        return f"kept as baseline in {self._keep}: {count(len(sides), 'scenario')}"


def _check_place(keep: Path, names: Iterable[str], others: Iterable[str]) -> None:
    for other in others:
        if os.path.realpath(other) == os.path.realpath(keep):
            what = f"--keep-baseline {keep}: what {other} holds is needed. Name another file."
            raise WrongUseError(f"unlit run: {what}")
    for folder in filter(Path.is_dir, map(locate, names)):
        if keep.suffix == SUFFIX and Path(os.path.realpath(keep)).is_relative_to(os.path.realpath(folder)):
            what = f"{folder} holds scenarios, and it would be taken for one. Put it beside the folder."
            raise WrongUseError(f"unlit run: --keep-baseline {keep}: {what}")
    try:
        try_whole_file(keep)
    except OSError as error:
        raise WrongUseError(f"unlit run: {cannot_write(f'--keep-baseline {keep}', error)}") from None


def tolerance_of(command: str, words: Sequence[str] | None) -> Tolerance:
    """The tolerance in the words of --tolerance: a share, and quantities by what they measure."""
    from harness.report.comparison.tolerance import SHARE, Tolerance, dimension_of

    share, absolute = None, {}
    for word in words or ():
        try:
            quantity = parse_quantity(word)
        except QuantityError as error:
            raise WrongUseError(f"unlit {command}: --tolerance: {error}.") from None
        dimension = dimension_of(quantity.unit)
        what = ""
        if quantity.value < 0:
            what = "is negative. Give 0 or more"
        elif quantity.dimension == "temperature":
            what = f"is a temperature. Write a difference, such as '{quantity.value:g} K'"
        elif quantity.unit == "%" and quantity.value > 100.0:
            what = "would call nothing worse. A margin cannot shrink by more than 100 %"
        elif (quantity.unit == "%" and share is not None) or dimension in absolute:
            what = "is of a kind that was given before. Give each kind once"
        if what:
            raise WrongUseError(f"unlit {command}: --tolerance {word}: {what}.")
        if quantity.unit == "%":
            share = quantity.value / 100
        else:
            absolute[dimension] = quantity
    return Tolerance(SHARE if share is None else share, absolute)
