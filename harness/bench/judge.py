"""All assertions of a scenario, fed with the recorder's chunks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from harness.assertions import Verdict, check_spec, compile_assertion
from harness.errors import FileMistakesError, Mistake
from harness.scenario import Scenario


class Judge:
    """Feeds each monitor the columns it names.

    Raises
    ------
    FileMistakesError
        If an assertion names a signal that this plant and device do not have.
    """

    def __init__(self, scenario: Scenario, units: Mapping[str, str]) -> None:
        mistakes = [
            Mistake(scenario.file, spec.lines.get(key, 0), message)
            for spec in scenario.assertions
            for key, message in check_spec(spec, units, ())
        ]
        if mistakes:
            raise FileMistakesError(mistakes)
        self._monitors = [compile_assertion(spec, units) for spec in scenario.assertions]
        wanted = {name for monitor in self._monitors for name in monitor.names}
        self._columns = {name: i for i, name in enumerate(units) if name in wanted}

    def chunk(self, times_ms: NDArray[np.int64], values: NDArray[np.float64]) -> None:
        """Take the next rows."""
        columns = {name: np.ascontiguousarray(values[:, i]) for name, i in self._columns.items()}
        for monitor in self._monitors:
            monitor.chunk(times_ms, columns)

    def verdicts(self, end_ms: int, complete: bool) -> Sequence[Verdict]:
        """The verdicts, in the scenario's order."""
        return [monitor.finish(end_ms, complete) for monitor in self._monitors]
