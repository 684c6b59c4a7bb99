"""What became of one scenario, whichever process played it."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from harness.assertions.verdict import Status
from harness.bench.result import EXIT_CODE, STOPPED, RunResult
from harness.errors import FileMistakesError, UnlitError
from harness.logbook import Logbook

if TYPE_CHECKING:
    from harness.scenario import Scenario

#: Called now and then with (bench time, length) [ms].
Progress = Callable[[int, int], None]


class RunScenario(Protocol):
    """`harness.bench.run.run_scenario`."""

    def __call__(
        self, scenario: Scenario, device: str, logbook: Logbook, *, progress: Progress | None
    ) -> RunResult: ...


@dataclass(frozen=True)
class Outcome:
    """A run, or why there is none.

    Attributes
    ----------
    result : None where no run came to an end.
    told : then what a person is told, in lines.
    code : then the exit code.
    cut_off : then whether a run began all the same.
    goes_on : whether other scenarios are worth playing after this.
    """

    result: RunResult | None = None
    told: tuple[str, ...] = ()
    code: int = EXIT_CODE[Status.INCONCLUSIVE]
    cut_off: bool = False
    goes_on: bool = True


#: Each scenario that was begun with what became of it, in their order; closing it ends what still runs.
Outcomes = Generator[tuple["Scenario", Outcome], None, None]


def play_one(
    run_scenario: RunScenario, device: str | None, logbook: Logbook, scenario: Scenario, progress: Progress
) -> Outcome:
    """Play one scenario against `device`, or the one it is for.

    A link or a logbook that fails before the run, or a person, ends the session.
    """
    try:
        result = run_scenario(scenario, device or scenario.device, logbook, progress=progress)
    except UnlitError as error:
        told = (f"{scenario.file}: not played", str(error))
        return Outcome(told=told, code=error.exit_code, goes_on=isinstance(error, FileMistakesError))
    except KeyboardInterrupt:
        return stopped_early(scenario)
    return Outcome(result, goes_on=not result.stopped)


def stopped_early(scenario: Scenario) -> Outcome:
    """A person was faster than the run."""
    return Outcome(told=(f"{scenario.file}: {STOPPED} before it began",), goes_on=False)
