"""A rig that is exactly first order with dead time, or an integrator, and a calibration on it."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

from tests.stubs.controller_rig import INPUTS, PLACE, PROBES, RESULTS, Config

STEP_MS = 1000
LONGEST_S = 4 * 3600 + 60
FOUND, GAVE_UP = 5, 6


@dataclass(frozen=True)
class Rig:
    """gain at full fire for ever [K], time constant, dead time [s]; start above its end without heat [K]."""

    gain: float
    time_constant: float
    dead_time: float
    start: float = 0.0


def slope(rig: Rig) -> float:
    """At full fire, before losses grow. [K/s]"""
    return rig.gain / rig.time_constant


def integrator(slope: float, dead_time: float) -> Rig:
    """A rig that loses nothing that could be seen in hours; slope in K/s."""
    return Rig(slope * 1e9, 1e9, dead_time)


def quick() -> Config:
    """A calibration of seconds, for scripts and for random inputs."""
    config = Config()
    config.cal_settle_ms = config.cal_soak_ms = 3000
    config.cal_again_ms = 12000
    config.cal_settle_most_ms = 30000
    config.cal_respond_ms = 40000
    config.cal_block_ms = 2000
    config.cal_cycle_ms = 10000
    config.cal_limit_ms = 120000
    return config


def lenient() -> Config:
    """The same for temperatures that come and go by chance."""
    config = quick()
    config.cal_steady, config.cal_rise = 2000, 2500
    return config


def calibrate(controller, rig: Rig) -> tuple[dict[str, int], list[list[int | None]]]:
    """Run until it has found or given up; what is then put out, and the inputs of every step, 1 s apart.

    The flame comes a second after the valve opens; the readings are exact to 1 mK, the coil outlet's late by
    the dead time.
    """
    inputs: list[int | None] = [None] * len(INPUTS)
    for name, value in (("run", 1), ("mode", 3), ("flame", 0), ("flow", 0)):
        inputs[PLACE[name]] = value
    results = controller.start(0)
    decay = math.exp(-STEP_MS / 1000 / rig.time_constant)
    earlier = deque([rig.start] * round(rig.dead_time))
    rise, burns, was_open, sent = rig.start, False, False, []
    for second in range(LONGEST_S):
        earlier.append(rise)
        delayed = earlier.popleft()
        for name in PROBES:
            inputs[PLACE[name]] = round((20.0 + (delayed if name == "coil_outlet" else rise)) * 1000)
        inputs[PLACE["flame"]] = int(burns)
        inputs[PLACE["flow"]] = results[2]
        sent.append(list(inputs))
        results = controller.step(second * STEP_MS, STEP_MS, list(inputs))
        if results[RESULTS.index("calibration")] in (FOUND, GAVE_UP):
            break
        burns = bool(results[0]) and was_open
        was_open = bool(results[0])
        rise = rise * decay + rig.gain * (1 - decay) * burns
    return dict(zip(RESULTS, results, strict=True)), sent
