"""All assertions of a scenario, fed with the recorder's chunks."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from harness.assertions import AssertionSpec, Judge, Verdict, check_spec
from harness.errors import FileMistakesError, Mistake
from harness.scenario import Scenario


class ScenarioJudge:
    """Gives the judge the columns it needs of each chunk.

    Raises
    ------
    FileMistakesError
        If an assertion names a signal that this plant and device do not have.
    """

    def __init__(self, scenario: Scenario, units: Mapping[str, str]) -> None:
        mistakes = [
            _mistake(scenario, spec, key, message)
            for spec in scenario.assertions
            for key, message in check_spec(spec, units, ())
        ]
        if mistakes:
            raise FileMistakesError(mistakes)
        self._titles = [spec.title for spec in scenario.assertions]
        self._judge = Judge(scenario.assertions, units)
        wanted = set(self._judge.names)
        self._columns = {name: i for i, name in enumerate(units) if name in wanted}

    def chunk(self, times_ms: NDArray[np.int64], values: NDArray[np.float64]) -> None:
        """Take the next rows."""
        columns = {name: np.ascontiguousarray(values[:, i]) for name, i in self._columns.items()}
        self._judge.chunk(times_ms, columns)

    @property
    def broken(self) -> str:
        """The title of the first assertion that is already broken; empty while none is."""
        broken = self._judge.broken
        return self._titles[broken[0]] if broken else ""

    def verdicts(self, end_ms: int, complete: bool) -> list[Verdict]:
        """The verdicts, in the scenario's order."""
        return self._judge.finish(end_ms, complete)


def _mistake(scenario: Scenario, spec: AssertionSpec, key: str, what: str) -> Mistake:
    line = spec.lines.get(key, 0)
    if not spec.required_at:
        return Mistake(scenario.file, line, what)
    return Mistake(scenario.file, spec.required_at, f"use: {spec.file}:{line}: {key}: {what}")
