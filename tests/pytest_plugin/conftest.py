"""A pytest inside the test: only this plugin, whatever is installed, and nothing loaded twice."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from harness.bench.run import run_scenario
from harness.logbook import Logbook
from harness.pytest_plugin import bench_fixture, items  # noqa: F401 - pytester forgets what it has seen imported
from harness.scenario import parse_scenario

ROOT = Path(__file__).resolve().parents[2]
PLUGIN = ("-p", "harness.pytest_plugin", "-p", "no:cacheprovider", "-W", "ignore::pytest.PytestWarning")
IDLE = """
title = "Idle"
plant = "herms-gas"
length = "1 s"
[[assertion]]
title = "no gas"
never = "gas_valve"
"""

Inside = Callable[..., pytest.RunResult]


@pytest.fixture(scope="session", autouse=True)
def _everything_is_loaded(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Compiled modules cannot be loaded a second time, and pytester takes away what its runs have loaded."""
    book = Logbook(tmp_path_factory.mktemp("loaded") / "book")
    book.read(run_scenario(parse_scenario(IDLE, "idle.toml"), "builtin", book).run_id).signals()


@pytest.fixture
def inside(pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> Inside:
    """Run pytest with these words in this process, or with `apart=True` in one of its own."""
    monkeypatch.setenv("PYTEST_DISABLE_PLUGIN_AUTOLOAD", "1")
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    monkeypatch.delenv("PYTEST_ADDOPTS", raising=False)

    def run(*words: str, apart: bool = False) -> pytest.RunResult:
        play = pytester.runpytest_subprocess if apart else pytester.runpytest_inprocess
        return play(*PLUGIN, *words)

    return run
