"""What brewers say of a calibration. All: common practice, no source."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from harness.calibration.rig import RIGS
from harness.calibration.step_test.on_plant import step_test
from harness.calibration.step_test.procedure import Procedure
from harness.calibration.step_test.through_device import Hand, device_test
from harness.logbook import Logbook
from plants import ready_plants
from tests.firmware import Firmware

HOUR = 3600.0


@pytest.mark.parametrize("name", ["herms-gas", "direct-fired-mash", "electric-kettle"])
def test_a_calibration_takes_about_two_hours_and_never_more_than_four(name: str) -> None:
    test = step_test(ready_plants()[name], RIGS[name], Procedure(), setup={})
    assert test.complete
    assert 1.0 * HOUR < test.record.time_s[-1] <= 3.0 * HOUR


def test_a_fifth_of_thirty_seconds_opens_the_valve_for_six(
    reference: Callable[..., Firmware], tmp_path: Path
) -> None:
    brief = Procedure(longest_ms=25 * 60_000, shortest_small_ms=0)
    book = Logbook(tmp_path / "logbook.db")
    link = reference().links["lib"]
    _, run = device_test(ready_plants()["herms-gas"], RIGS["herms-gas"], brief, Hand(), link, book)
    times_ms, signals = book.read(run.run_id).signals(["valve_command"])
    valve = signals["valve_command"]
    edges = np.flatnonzero(np.diff(valve)) + 1
    opened, shut = times_ms[edges[valve[edges] > 0]], times_ms[edges[valve[edges] == 0]]
    small = opened >= brief.small_from_ms
    assert small.sum() > 10
    # An exchange every 250 ms; the burner's sequence takes a step or two.
    assert np.abs(shut[small.nonzero()[0][:-1]] - opened[small][:-1] - 6_000).max() <= 500
    assert np.abs(np.diff(opened[small]) - 30_000).max() <= 500
