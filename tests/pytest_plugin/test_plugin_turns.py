"""Workers of one session take turns: on a port, and beside a run in wall pace."""

from __future__ import annotations

import threading
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from harness.pytest_plugin import player
from harness.pytest_plugin.player import _in_turn

WORKER: Any = SimpleNamespace(workerinput={})


def meet(folder: Path, *turns: tuple[str, bool], config: Any = WORKER, patience: float = 30) -> bool:
    """Whether all of these (device, alone) can be at work at one time."""
    inside = threading.Barrier(len(turns))
    met: list[bool] = []

    def work(device: str, alone: bool) -> None:
        with _in_turn(folder / "new" / "book", device, alone=alone, config=config):
            try:
                inside.wait(patience)
                met.append(True)
            except threading.BrokenBarrierError:
                met.append(False)

    threads = [threading.Thread(target=work, args=turn) for turn in turns]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return all(met)


def test_devices_of_their_own_run_at_once(tmp_path: Path) -> None:
    assert meet(tmp_path, ("builtin", False), ("builtin", False), ("run:x", False))
    assert meet(tmp_path, ("/dev/ttyX0", False), ("/dev/ttyX1", False), ("builtin", False))


@pytest.mark.parametrize(
    "turns",
    [
        [("/dev/ttyX0", False), ("/dev/ttyX0", False)],
        [("builtin", True), ("builtin", False)],
        [("builtin", True), ("/dev/ttyX0", True)],
    ],
)
def test_others_wait(tmp_path: Path, turns: list[tuple[str, bool]]) -> None:
    assert not meet(tmp_path, *turns, patience=0.3)


def test_a_session_without_workers_locks_nothing(tmp_path: Path) -> None:
    assert meet(tmp_path, ("/dev/ttyX0", True), ("/dev/ttyX0", True), config=SimpleNamespace())
    assert list(tmp_path.iterdir()) == []


def test_a_run_that_a_person_stops_ends_pytest(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    stopped = SimpleNamespace(stopped=True)
    monkeypatch.setattr(player, "run_scenario", lambda *words, **more: stopped)
    config = SimpleNamespace(
        getoption=lambda name, default: default, invocation_params=SimpleNamespace(dir=tmp_path)
    )
    node: Any = SimpleNamespace(config=config, user_properties=[])
    scenario: Any = SimpleNamespace(pace="lockstep")
    with pytest.raises(KeyboardInterrupt):
        player.play(scenario, player.Case("builtin"), node)
    assert node.user_properties == []
