"""The safety rules of controller_watch.py find a controller that breaks them."""

from __future__ import annotations

import pytest

from tests.stubs.controller_chance import Chance
from tests.stubs.controller_rig import CLOCK, Config, PythonController
from tests.stubs.controller_watch import Watch

RUNS = 150
STEPS = 750

BROKEN = {
    "purge_ms": 2000,
    "trial_ms": 12000,
    "tries": 6,
    "loss_ms": 4000,
    "least_on_ms": 0,
    "least_off_ms": 0,
    "limit_trip": 95000,
    "silence_ms": 4000,
}


def play(seed: int, config: Config) -> None:
    chance = Chance(seed)
    controller = PythonController(config)
    results = controller.start(chance.now_ms, fahrenheit=chance.fahrenheit)
    watch = Watch(power_cut=False)
    for _ in range(STEPS):
        before = chance.now_ms
        now_ms, quiet_ms, inputs = chance.next_step(results)
        results = controller.step(now_ms, quiet_ms, inputs)
        watch.see((now_ms - before) % CLOCK, quiet_ms, inputs, results)


def play_all(config: Config) -> None:
    for seed in range(RUNS):
        play(seed, config)


@pytest.mark.parametrize("constant", BROKEN)
def test_a_broken_rule_is_found(constant):
    config = Config()
    setattr(config, constant, BROKEN[constant])
    with pytest.raises(AssertionError):
        play_all(config)
