"""The C and the Python core: the same at every step, and safe at every step, whatever happens to them."""

from __future__ import annotations

import ctypes
from collections import Counter

import pytest

from tests.stubs.calibration_rig import lenient
from tests.stubs.controller_chance import Chance
from tests.stubs.controller_rig import CLOCK, CController, Config, PythonController, c_library, constants
from tests.stubs.controller_watch import Watch

SHARES = 4
RUNS_OF_A_SHARE = 70
STEPS_OF_A_RUN = 750


@pytest.fixture(scope="module")
def visited():
    return Counter()


def play(seed: int, visited: Counter) -> int:
    """One random run with a power cut now and then; returns its steps."""
    chance = Chance(seed, calibrate=seed % 6 == 1)
    config = lenient() if seed % 2 else Config()
    pair = (CController(config), PythonController(config))
    stored, power_cut = 0 if seed % 10 else 255, bool(seed % 3 == 0)
    steps = 0
    while steps < STEPS_OF_A_RUN:
        how = {"power_cut": power_cut, "fahrenheit": chance.fahrenheit}
        begun = [each.start(chance.now_ms, stored, **how) for each in pair]
        assert begun[0] == begun[1]
        watch, results, chance.quiet_ms = Watch(power_cut=power_cut), begun[0], 0
        watch.faulty = bool(results[6])
        while steps < STEPS_OF_A_RUN and chance.random.random() >= chance.trouble / 10:
            before = chance.now_ms
            now_ms, quiet_ms, inputs = chance.next_step(results)
            results = pair[0].step(now_ms, quiet_ms, inputs)
            assert results == pair[1].step(now_ms, quiet_ms, inputs), (seed, steps)
            watch.see((now_ms - before) % CLOCK, quiet_ms, inputs, results)
            visited.update((("stage", results[5]), ("fault", results[6]), ("step", results[7])))
            visited.update((("calibration", results[10]), ("gave_up", results[11])))
            steps += 1
        stored, power_cut = results[9], True
    return steps


@pytest.mark.parametrize("share", range(SHARES))
def test_both_cores_agree_and_stay_safe(visited, share):
    steps = sum(
        play(seed, visited) for seed in range(share * RUNS_OF_A_SHARE, (share + 1) * RUNS_OF_A_SHARE)
    )
    assert steps * SHARES >= 200_000


def test_the_random_runs_reach_every_state(visited):
    assert {value for name, value in visited if name == "stage"} == {0, 1, 2, 3, 4}
    assert {value for name, value in visited if name == "fault"} == set(range(13))
    assert {value for name, value in visited if name == "step"} == set(range(10))
    assert {value for name, value in visited if name == "calibration"} == set(range(7))
    assert {value for name, value in visited if name == "gave_up"} >= {0, 1, 2, 3, 4, 5, 8}


def test_both_cores_have_the_same_constants():
    library = c_library()
    in_c = (ctypes.c_int32 * (library.shim_config_size() // 4))()
    library.shim_config(in_c)
    assert in_c[:] == constants(Config())
