"""Plays one scenario for a test: with the session's options, and in turn with other workers."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from harness.bench.result import RunResult
from harness.bench.run import run_scenario
from harness.errors import WrongUseError
from harness.links.open import opens_many
from harness.logbook import DEFAULT_FILE, Logbook
from harness.pytest_plugin.cases import Case
from harness.quantity import QuantityError, parse_ms
from harness.scenario import Scenario


def logbook_of(config: pytest.Config) -> Logbook:
    """Where the runs are kept: as asked, else where `unlit run` keeps them."""
    path = Path(config.getoption("unlit_logbook", None) or DEFAULT_FILE)
    return Logbook(path if path.is_absolute() else config.invocation_params.dir / path)


def play(scenario: Scenario, case: Case, node: pytest.Item) -> RunResult:
    """Play `scenario` and note the run in the reports of `node`. UnlitError where there was none.

    A person who stopped the run stops pytest too.
    """
    config = node.config
    if case.seed is not None:
        scenario = replace(scenario, seed=case.seed)
    pace = config.getoption("unlit_pace", None)
    if pace is not None:
        scenario = replace(scenario, pace=pace)
    logbook = logbook_of(config)
    with _in_turn(logbook.path, case.device, alone=scenario.pace == "wall", config=config):
        result = run_scenario(scenario, case.device, logbook, answer_timeout_s=_answer_s(config))
    if result.stopped:
        raise KeyboardInterrupt
    node.user_properties.append(("unlit run", result.run_id))
    node.user_properties.append(("unlit status", str(result.status)))
    return result


def _answer_s(config: pytest.Config) -> float:
    text = config.getoption("unlit_answer_timeout", None) or "2 s"
    try:
        return max(10, parse_ms(text)) / 1000
    except QuantityError as error:
        raise WrongUseError(f"--answer-timeout {text}: {error}.") from None


@contextmanager
def _in_turn(logbook: Path, device: str, *, alone: bool, config: pytest.Config) -> Iterator[None]:
    """Among the workers of one session: one run at a time on a port, and none beside one in wall pace."""
    if os.name != "posix" or not hasattr(config, "workerinput"):
        yield
        return
    logbook.parent.mkdir(parents=True, exist_ok=True)
    with ExitStack() as held:
        held.enter_context(_locked(logbook.with_name(f"{logbook.name}-turn"), shared=not alone))
        if not opens_many(device):
            short = hashlib.sha256(os.fsencode(device)).hexdigest()[:12]
            held.enter_context(_locked(logbook.with_name(f"{logbook.name}-turn-{short}"), shared=False))
        yield


@contextmanager
def _locked(path: Path, *, shared: bool) -> Iterator[None]:
    import fcntl

    with path.open("ab") as file:
        fcntl.flock(file, fcntl.LOCK_SH if shared else fcntl.LOCK_EX)
        yield
