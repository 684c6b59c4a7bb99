"""The fixture `bench`: runs for tests written in Python."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Literal, NoReturn

import pytest

from harness.errors import UnlitError
from harness.pytest_plugin.cases import Case
from harness.pytest_plugin.player import logbook_of, play
from harness.pytest_plugin.run import Run
from harness.pytest_plugin.telling import in_short, told
from harness.scenario import Scenario, build_scenario, load_scenario

Table = Mapping[str, Any]
Expected = Literal["pass", "fail", "inconclusive"]


class Bench:
    """Plays runs for one test, on one device and with one seed.

    Attributes
    ----------
    device : the link, as `--device` names it.
    seed : in place of each scenario's own; None where none was asked for.
    """

    def __init__(self, node: pytest.Item, case: Case) -> None:
        self._node, self._case = node, case
        self.device, self.seed = case.device, case.seed

    def play(
        self,
        *,
        plant: str | os.PathLike[str],
        length: str,
        assertions: Sequence[Table] = (),
        disturbances: Sequence[Table] = (),
        require: Sequence[Table] = (),
        panel: Table | None = None,
        plant_setup: Table | None = None,
        wiring: str | os.PathLike[str] | Table | None = None,
        expect: Expected = "pass",
        **head: Any,
    ) -> Run:
        """Play one run and judge it; the test fails unless it ends as `expect` says.

        Parameters
        ----------
        plant, length, panel, plant_setup, wiring, require :
            As in a scenario file; files are looked for beside the test.
        disturbances, assertions :
            Dicts with the keys of a `[[disturbance]]` and an `[[assertion]]`.
        expect :
            What the run is to end as. An inconclusive one is no pass; it passes only where it is expected.
        head :
            Any other key of a scenario file's head; `title` is the test's name if left out.

        Raises
        ------
        pytest.fail.Exception
            With the verdicts, margins and moments; or with every mistake of the call, at its line.
        """
        __tracebackhide__ = True
        file, line = _caller()
        given = {"title": head.pop("title", self._title()), "plant": plant, "length": length, **head}
        tables = {
            "wiring": wiring,
            "plant_setup": plant_setup,
            "panel": panel,
            "disturbance": list(disturbances) or None,
            "require": list(require) or None,
            "assertion": list(assertions) or None,
        }
        given |= {key: value for key, value in tables.items() if value is not None}
        try:
            scenario = build_scenario(given, file, line)
        except UnlitError as error:
            _fail(str(error))
        return self._run(scenario, expect)

    def play_file(self, path: str | os.PathLike[str], *, expect: Expected = "pass") -> Run:
        """Play a scenario file, named from the test's folder; else as `play`."""
        __tracebackhide__ = True
        try:
            scenario = load_scenario(_from_here(self._node.path.parent / path))
        except UnlitError as error:
            _fail(str(error))
        return self._run(scenario, expect)

    def _run(self, scenario: Scenario, expect: Expected) -> Run:
        __tracebackhide__ = True
        try:
            result = play(scenario, self._case, self._node)
        except UnlitError as error:
            _fail(f"{scenario.file}: not played\n{error}")
        if not result.ended_as(expect):
            _fail(f"{in_short(result)}\n{told(result, None if expect == 'pass' else expect)}")
        return Run(result, logbook_of(self._node.config).read(result.run_id))

    def _title(self) -> str:
        name = getattr(self._node, "originalname", None) or self._node.name
        return str(name).removeprefix("test_").replace("_", " ")


def _fail(text: str) -> NoReturn:
    __tracebackhide__ = True
    raise pytest.fail.Exception(text) from None  # where in Unlit a mistake was found helps nobody


def _caller() -> tuple[str, int]:
    """File and line of the call of `play`."""
    frame = sys._getframe(2)
    return str(_from_here(Path(frame.f_code.co_filename))), frame.f_lineno


def _from_here(path: Path) -> Path:
    """As a person would write it."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path
