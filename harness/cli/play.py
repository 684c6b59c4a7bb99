"""Many scenarios one after the other, and the one exit code of them all."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Protocol

from harness.assertions.verdict import Status
from harness.bench.result import EXIT_CODE, RunResult
from harness.errors import FileMistakesError, UnlitError
from harness.logbook import Logbook
from harness.report.block import run_block
from harness.report.console import console
from harness.report.plain import plain
from harness.report.progress import RunProgress
from harness.report.summary import summary

if TYPE_CHECKING:
    from harness.scenario import Scenario

#: The gravest first: a wrong file, a fail, inconclusive, pass.
GRAVITY = (2, 1, 3, 0)

#: How the bench begins the reason of a run that a person stopped.
STOPPED = "stopped by a person"


class RunScenario(Protocol):
    """`harness.bench.run.run_scenario`."""

    def __call__(
        self,
        scenario: Scenario,
        device: str,
        logbook: Logbook,
        *,
        progress: Callable[[int, int], None] | None,
    ) -> RunResult: ...


def worst(codes: Iterable[int]) -> int:
    """The exit code that stands for all of `codes`; nothing played is inconclusive."""
    return min(codes, key=GRAVITY.index, default=EXIT_CODE[Status.INCONCLUSIVE])


def exit_code(result: RunResult, expected: str | None) -> int:
    """The exit code of one run; with `expected`, 0 when it ended so by itself, no pass where not."""
    if any(reason.startswith(STOPPED) for reason in result.reasons):
        return EXIT_CODE[Status.INCONCLUSIVE]
    if expected is None:
        return EXIT_CODE[result.status]
    if expected == result.status and not result.cut_short:
        return 0
    return EXIT_CODE[result.status] or EXIT_CODE[Status.FAIL]


class Session:
    """Plays scenarios against one device and prints each as it ends.

    `compare`: the exit code says whether the runs ended as the scenarios expect.
    """

    def __init__(
        self, run_scenario: RunScenario, device: str, logbook: Logbook, *, compare: bool = False
    ) -> None:
        self._run_scenario, self._device = run_scenario, device
        self._logbook, self._compare = logbook, compare
        self._out, self._err = console(), console(stderr=True)
        self._results: list[RunResult] = []

    def play(self, scenarios: Sequence[Scenario]) -> int:
        """Play them in order; a link or logbook that fails before a run, or a person, ends the session."""
        codes: list[int] = []
        for scenario in scenarios:
            code, going = self._one(scenario)
            codes.append(code)
            if not going:
                break
        left = len(scenarios) - len(self._results)
        as_expected = codes.count(0) if self._compare else None
        for line in summary(self._results, self._logbook.path, not_run=left, as_expected=as_expected):
            self._out.print(line)
        return worst(codes)

    def _one(self, scenario: Scenario) -> tuple[int, bool]:
        """Play one: its exit code, and whether the session goes on."""
        try:
            with RunProgress(self._err, scenario.title, scenario.exchange_every_ms) as progress:
                result = self._run_scenario(scenario, self._device, self._logbook, progress=progress)
        except UnlitError as error:
            self._tell(f"{scenario.file}: not played", str(error))
            return error.exit_code, isinstance(error, FileMistakesError)
        except KeyboardInterrupt:
            self._tell(f"{scenario.file}: {STOPPED} before it began")
            return EXIT_CODE[Status.INCONCLUSIVE], False
        self._results.append(result)
        expected = scenario.expected if self._compare else None
        for line in run_block(result, expected=expected):
            self._out.print(line)
        stopped = any(reason.startswith(STOPPED) for reason in result.reasons)
        return exit_code(result, expected), not stopped

    def _tell(self, *texts: str) -> None:
        self._out.file.flush()  # so that the two streams stand in the order things happened
        for text in texts:
            for line in text.split("\n"):
                self._err.print(plain(line), soft_wrap=True)
