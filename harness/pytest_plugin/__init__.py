"""The plugin for pytest: scenario files as items, and the fixture `bench`. README.md says how to use it.

It is loaded by every pytest run where Unlit is installed. So nothing is imported here but pytest, and nothing
is collected unless a device is named.
"""

from __future__ import annotations

from collections.abc import Generator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from harness.pytest_plugin.cases import Case, cases
from harness.pytest_plugin.files import is_scenario
from harness.pytest_plugin.options import add_ini, add_options

if TYPE_CHECKING:
    from harness.pytest_plugin.bench_fixture import Bench

LEFT_ALONE = pytest.StashKey[int]()

NO_DEVICE = (
    "no device is named. Say which controller to test: `--device LINK`, or `unlit_device` in pytest's "
    "ini-file; `builtin` is the controller that comes with Unlit."
)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Settings of the ini-file; the options come later."""
    add_ini(parser)


@pytest.hookimpl(wrapper=True)
def pytest_load_initial_conftests(parser: pytest.Parser) -> Generator[None, object, object]:
    """After a project's own conftest.py has added its options: ours give way to them."""
    outcome = yield
    add_options(parser)
    return outcome


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    """Take scenario files, where a device is named."""
    named = parent.session.isinitpath(file_path)
    if file_path.suffix != ".toml" or not is_scenario(file_path, named=named):
        return None
    if not cases(parent.config):
        if named:
            raise parent.CollectError(f"{file_path}: {NO_DEVICE}")
        stash = parent.config.stash
        stash[LEFT_ALONE] = stash.get(LEFT_ALONE, 0) + 1
        return None
    from harness.pytest_plugin.items import ScenarioFile

    found: pytest.Collector = ScenarioFile.from_parent(parent, path=file_path)
    return found


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Play what uses `bench` with each device and seed."""
    if "unlit_case" in metafunc.fixturenames:
        found = cases(metafunc.config)
        if found:
            metafunc.parametrize("unlit_case", found, ids=[case.name for case in found], indirect=True)


@pytest.fixture
def unlit_case(request: pytest.FixtureRequest) -> Case:
    """The device and seed that this test is played with."""
    case: Case | None = getattr(request, "param", None)
    if case is None:
        pytest.fail(NO_DEVICE, pytrace=False)
    return case


@pytest.fixture
def bench(request: pytest.FixtureRequest, unlit_case: Case) -> Bench:
    """The bench: `bench.play(plant=…, length=…, assertions=[…])` plays one run and judges it."""
    from harness.pytest_plugin.bench_fixture import Bench

    return Bench(request.node, unlit_case)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Where the runs are kept, and what they are no leave for."""
    runs = [
        value
        for reports in terminalreporter.stats.values()
        for report in reports
        for name, value in getattr(report, "user_properties", ())
        if name == "unlit run" and getattr(report, "when", "") == "call"
    ]
    if runs:
        from harness.pytest_plugin.player import logbook_of
        from harness.report.advice import CAUTION
        from harness.report.figures import count

        path = logbook_of(config).path
        terminalreporter.write_line(f"unlit: {count(len(set(runs)), 'run')} kept in {path}")
        terminalreporter.write_line(CAUTION)
    left = config.stash.get(LEFT_ALONE, 0)
    if left and not any(terminalreporter.stats.values()):
        terminalreporter.write_line(f"unlit: scenario files left alone: {left}; {NO_DEVICE}")
