"""Many scenarios, one after the other or several at once, and the one exit code of them all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from functools import partial
from typing import TYPE_CHECKING

from rich.text import Text

from harness.assertions.verdict import Status
from harness.bench.result import EXIT_CODE, RunResult
from harness.cli.baselines import Baselines
from harness.cli.books import Books
from harness.cli.outcome import Outcome, Outcomes, RunScenario, play_one
from harness.cli.result_files import ResultFiles
from harness.errors import UnlitError
from harness.logbook import Logbook
from harness.report.block import run_block
from harness.report.console import console
from harness.report.plain import plain
from harness.report.progress import RunProgress, SessionProgress
from harness.report.summary import summary

if TYPE_CHECKING:
    from harness.cli.live import Live
    from harness.scenario import Scenario

#: The gravest first: a wrong file, a fail, inconclusive, pass.
GRAVITY = (2, 1, 3, 0)


def worst(codes: Iterable[int]) -> int:
    """The exit code that stands for all of `codes`; nothing played is inconclusive."""
    return min(codes, key=GRAVITY.index, default=EXIT_CODE[Status.INCONCLUSIVE])


def exit_code(result: RunResult, expected: str | None) -> int:
    """The exit code of one run; with `expected`, 0 when it ended so by itself, no pass where not."""
    if result.stopped:
        return EXIT_CODE[Status.INCONCLUSIVE]
    if expected is None:
        return EXIT_CODE[result.status]
    if result.ended_as(expected):
        return 0
    return EXIT_CODE[result.status] or EXIT_CODE[Status.FAIL]


class Session:
    """Plays scenarios against one device and prints each, in their order, as it ends.

    Without a `device` each is played against the built-in one that it is for.

    `compare`: the exit code says whether the runs ended as the scenarios expect. `jobs`: how many at once.
    `live`: each shown while it is played. `files`: written for machines as the session goes. `baselines`:
    compared with, and left, at its end.
    """

    def __init__(
        self,
        run_scenario: RunScenario,
        device: str | None,
        logbook: Logbook,
        *,
        compare: bool = False,
        jobs: int = 1,
        live: bool = False,
        files: ResultFiles | None = None,
        baselines: Baselines | None = None,
    ) -> None:
        self._run_scenario, self._device = run_scenario, device
        self._play_one = partial(play_one, run_scenario, device, logbook)
        self._logbook, self._compare, self._jobs = logbook, compare, jobs
        self._out, self._err = console(), console(stderr=True)
        self._live = self._on_screen() if live else None
        self._results: list[RunResult] = []
        self._books = Books(device or "", logbook, files, compare=compare) if files else None
        self._baselines = baselines

    def play(self, scenarios: Sequence[Scenario]) -> int:
        """Play them; a link or logbook that fails before a run, or a person, ends the session."""
        if self._books is not None:
            self._books.begin(scenarios)
        codes: list[int] = []
        cut_off = 0
        jobs = min(self._jobs, len(scenarios))
        with closing(self._outcomes(scenarios, jobs)) as outcomes:
            for scenario, outcome in outcomes:
                codes.append(self._print(scenario, outcome))
                cut_off += outcome.cut_off
                if self._books is not None:
                    self._books.add(scenario, outcome, codes[-1])
        left = len(scenarios) - len(self._results) - cut_off
        as_expected = codes.count(0) if self._compare else None
        path = self._logbook.path
        for line in summary(self._results, path, not_run=left, cut_off=cut_off, as_expected=as_expected):
            self._out.print(line)
        return self._closed(worst([worst(codes), *self._with_baselines(left + cut_off)]))

    def _with_baselines(self, left: int) -> Iterator[int]:
        """Exit codes of the comparison with one baseline and of keeping another; `left` have no result."""
        if not self._baselines:
            return
        comparison = self._baselines.comparison(self._results, self._logbook)
        if comparison is not None:
            for line in comparison.lines:
                self._out.print(line)
            if self._books is not None:
                self._books.add_comparison(comparison.account)
            yield comparison.code
        try:
            kept = self._baselines.keep(self._results, self._logbook, left=left)
        except UnlitError as error:
            self._tell((str(error),))
            yield error.exit_code
            return
        if kept:
            self._out.print(Text(plain(kept), "dim"))

    def _closed(self, code: int) -> int:
        """The exit code once the files for machines are written as well."""
        if self._books is None:
            return code
        try:
            self._books.end(code)
        except UnlitError as error:
            self._tell((str(error),))
            return worst([code, error.exit_code])
        return code

    def _outcomes(self, scenarios: Sequence[Scenario], jobs: int) -> Outcomes:
        if self._live is not None:
            return self._live.outcomes(scenarios)
        return self._at_once(scenarios, jobs) if jobs > 1 else self._in_turn(scenarios)

    def _on_screen(self) -> Live:
        from harness.cli.live import Live

        return Live(self._run_scenario, self._device, self._logbook.path, self._out)

    def _in_turn(self, scenarios: Sequence[Scenario]) -> Outcomes:
        for scenario in scenarios:
            with RunProgress(self._err, scenario.title, scenario.exchange_every_ms) as progress:
                outcome = self._play_one(scenario, progress)
            yield scenario, outcome
            if not outcome.goes_on:
                return

    def _at_once(self, scenarios: Sequence[Scenario], jobs: int) -> Outcomes:
        from harness.cli.jobs import Jobs

        length_ms = sum(scenario.length_ms for scenario in scenarios)
        progress = SessionProgress(self._err, len(scenarios), length_ms)
        return Jobs(self._play_one, jobs, progress).outcomes(scenarios)

    def _print(self, scenario: Scenario, outcome: Outcome) -> int:
        """Tell a person of one outcome and give its exit code."""
        if outcome.result is None:
            self._tell(outcome.told)
            return outcome.code
        self._results.append(outcome.result)
        expected = scenario.expected if self._compare else None
        for line in run_block(outcome.result, expected=expected):
            self._out.print(line)
        return exit_code(outcome.result, expected)

    def _tell(self, texts: tuple[str, ...]) -> None:
        self._out.file.flush()  # so that the two streams stand in the order things happened
        for text in texts:
            for line in text.split("\n"):
                self._err.print(plain(line), soft_wrap=True)
