"""Many runs, one exit code."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import permutations
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from harness.assertions.verdict import Outcome, Status, Verdict
from harness.bench.result import RunResult
from harness.cli.play import Session, worst
from harness.errors import FileMistakesError, LinkError, LogbookError, Mistake
from harness.logbook import Logbook, WrongLogbookError

MET = Verdict("v", "", Outcome.MET, 1.0, "s", 5)
PASSED = RunResult(1, "a.toml", "A", "builtin", Status.PASS, (), (MET,), (), "", 9, 9, 0, 1.0)
FAILED = replace(PASSED, status=Status.FAIL, verdicts=(Verdict("v", "", Outcome.BROKEN, -1.0, "s", 5),))
UNSURE = replace(PASSED, status=Status.INCONCLUSIVE, reasons=("at 1.000 s: gone",))
DROPPED = replace(UNSURE, cut_short=True)
STOPPED = replace(PASSED, status=Status.INCONCLUSIVE, reasons=("stopped by a person at 1.000 s",))

Step = RunResult | BaseException


def play(steps: Sequence[Step], expected: str = "pass", compare: bool = False) -> tuple[int, int]:
    """The exit code, and how many scenarios were begun."""
    begun = 0

    def run_scenario(
        scenario: Any, device: str, logbook: Logbook, *, progress: Callable[[int, int], None] | None
    ) -> RunResult:
        nonlocal begun
        step = steps[begun]
        begun += 1
        if isinstance(step, BaseException):
            raise step
        assert progress is not None
        progress(1, 2)
        return replace(step, scenario_file=scenario.file)

    scenarios: list[Any] = [
        SimpleNamespace(file=f"s{n}.toml", title=f"S{n}", exchange_every_ms=250, expected=expected)
        for n in range(len(steps))
    ]
    session = Session(run_scenario, "builtin", Logbook(Path("book")), compare=compare)
    return session.play(scenarios), begun


WRONG_FILE = FileMistakesError([Mistake("s0.toml", 3, "no such input")])


@pytest.mark.parametrize(
    ("steps", "code", "begun"),
    [
        ([PASSED], 0, 1),
        ([FAILED], 1, 1),
        ([UNSURE], 3, 1),
        ([PASSED, PASSED], 0, 2),
        ([PASSED, UNSURE, PASSED], 3, 3),
        ([UNSURE, FAILED, PASSED], 1, 3),
        ([WRONG_FILE, FAILED, UNSURE], 2, 3),
        ([LinkError("gone"), PASSED], 3, 1),
        ([FAILED, LinkError("gone"), PASSED], 1, 2),
        ([LogbookError("full"), PASSED], 3, 1),
        ([WrongLogbookError("foreign"), PASSED], 2, 1),
        ([STOPPED, PASSED], 3, 1),
        ([PASSED, KeyboardInterrupt(), PASSED], 3, 2),
    ],
)
def test_the_worst_run_decides(steps: list[Step], code: int, begun: int) -> None:
    assert play(steps) == (code, begun)


def test_the_order_of_codes() -> None:
    for codes in permutations((0, 1, 2, 3)):
        assert worst(codes) == 2
    assert worst([0, 3, 1]) == 1
    assert worst([0, 3]) == 3
    assert worst([]) == 3


@pytest.mark.parametrize(
    ("step", "expected", "code"),
    [
        (PASSED, "pass", 0),
        (FAILED, "fail", 0),
        (UNSURE, "inconclusive", 0),
        (PASSED, "fail", 1),
        (PASSED, "inconclusive", 1),
        (FAILED, "pass", 1),
        (FAILED, "inconclusive", 1),
        (UNSURE, "pass", 3),
        (UNSURE, "fail", 3),
        (STOPPED, "inconclusive", 3),
        (DROPPED, "inconclusive", 3),
        (replace(FAILED, cut_short=True), "fail", 1),
        (LinkError("gone"), "inconclusive", 3),
    ],
)
def test_expected_outcomes_exit_with_0_and_no_others(step: Step, expected: str, code: int) -> None:
    assert play([step], expected, compare=True)[0] == code


def test_what_was_not_played_is_counted_and_told(capsys: pytest.CaptureFixture[str]) -> None:
    play([PASSED, LinkError("/dev/x: gone \x1b[2J. Plug it in."), PASSED])
    out, err = capsys.readouterr()
    assert "1 run: 1 pass, 2 scenarios not played" in out
    assert err == "s1.toml: not played\n/dev/x: gone \\x1b[2J. Plug it in.\n"
    assert "No bench run is a permission to light a burner" in " ".join(out.split())
