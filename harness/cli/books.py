"""What a session has shown so far, kept for its result files."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from harness.cli.outcome import Outcome
from harness.cli.result_files import ResultFiles
from harness.errors import LogbookError
from harness.logbook import Logbook

if TYPE_CHECKING:
    from harness.report.account import ComparisonAccount, RunAccount, SessionAccount
    from harness.scenario import Scenario


class Books:
    """Gathers the accounts of a session's runs and writes `files` anew after each."""

    def __init__(self, device: str, logbook: Logbook, files: ResultFiles, *, compare: bool) -> None:
        self._device, self._logbook, self._files, self._compare = device, logbook, files, compare
        self._scenarios: Sequence[Scenario] = ()
        self._accounts: list[RunAccount] = []
        self._comparison: ComparisonAccount | None = None

    def begin(self, scenarios: Sequence[Scenario]) -> None:
        """Before the first run; WrongUseError where a file cannot be written."""
        self._scenarios = scenarios
        self._files.begin(self._account())

    def add(self, scenario: Scenario, outcome: Outcome, code: int) -> None:
        """After a scenario, in their order; `code` is its exit code."""
        self._accounts.append(self._of(scenario, outcome, code))
        self._files.renew(self._account())

    def add_comparison(self, comparison: ComparisonAccount) -> None:
        """After the last scenario, where there is a baseline."""
        self._comparison = comparison

    def end(self, code: int) -> None:
        """After the last; ResultFileError where a file cannot be written."""
        self._files.end(self._account(code))

    def _of(self, scenario: Scenario, outcome: Outcome, code: int) -> RunAccount:
        from harness.report.account import account_of, unplayed

        if outcome.result is None:
            return unplayed(scenario.file, scenario.title, outcome.told, begun=True, compared=self._compare)
        try:
            record = self._logbook.read(outcome.result.run_id)
        except LogbookError as error:
            return unplayed(scenario.file, scenario.title, (str(error),), begun=True, compared=self._compare)
        met = code == 0 if self._compare else None
        return account_of(record, expected=scenario.expected, as_expected=met)

    def _account(self, code: int | None = None) -> SessionAccount:
        from harness.report.account import SessionAccount, unplayed

        left = self._scenarios[len(self._accounts) :]
        waiting = [
            unplayed(scenario.file, scenario.title, begun=False, compared=self._compare) for scenario in left
        ]
        return SessionAccount(
            passed=code == 0,
            exit_code=code,
            device=self._device,
            logbook=str(self._logbook.path),
            runs=(*self._accounts, *waiting),
            comparison=self._comparison,
        )
