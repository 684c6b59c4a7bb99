"""Scenario files as pytest's items, one for each device and seed."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from harness.bench.result import RunResult
from harness.errors import UnlitError
from harness.pytest_plugin.cases import Case, cases
from harness.pytest_plugin.player import play
from harness.pytest_plugin.telling import in_short, told
from harness.scenario import Scenario, load_scenario


class NotPassedError(Exception):
    """The run of an item did not end as it should."""

    def __init__(self, result: RunResult, expected: str | None) -> None:
        self.result, self.expected = result, expected
        super().__init__(f"{in_short(result)}\n{told(result, expected)}")


class ScenarioFile(pytest.File):
    """A scenario; a file with mistakes is an error of collection that tells all of them."""

    def collect(self) -> Iterator[pytest.Item]:
        try:
            scenario = load_scenario(_shown(self.path, self.config))
        except UnlitError as error:
            raise self.CollectError(str(error)) from None
        for case in cases(self.config):
            yield ScenarioItem.from_parent(self, name=case.name, scenario=scenario, case=case)


class ScenarioItem(pytest.Item):
    """One run of a scenario. It passes if the run does, or with `--expected` if it ends as the file says.

    A scenario that is for another built-in controller is played only where a person names its file.
    """

    def __init__(self, *, scenario: Scenario, case: Case, **words: Any) -> None:
        super().__init__(**words)
        self._scenario, self._case = scenario, case
        self.extra_keyword_matches.update(scenario.themes)

    def runtest(self) -> None:
        """Play it."""
        if not self._scenario.is_for(self._case.device) and not self.session.isinitpath(self.path):
            pytest.skip(f"it is for {self._scenario.device}; name the file to play it all the same")
        result = play(self._scenario, self._case, self)
        expected = self._scenario.expected if self.config.getoption("unlit_expected", False) else None
        if not result.ended_as(expected or "pass"):
            raise NotPassedError(result, expected)

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> Any:
        """The words of `unlit run`; what is not the run's own is shown as pytest shows it."""
        error = excinfo.value
        if isinstance(error, NotPassedError):
            return str(error)
        if isinstance(error, UnlitError):
            return f"{self._scenario.file}: not played\n{error}"
        return super().repr_failure(excinfo, style)

    def reportinfo(self) -> tuple[os.PathLike[str] | str, int | None, str]:
        """Where pytest says it is, and its heading."""
        return self.path, None, f"{self._scenario.title} [{self._case.name}]"


def _shown(path: Path, config: pytest.Config) -> Path:
    """As a person would write it."""
    here = config.invocation_params.dir
    return path.relative_to(here) if path.is_relative_to(here) else path
