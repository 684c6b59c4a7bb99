"""The limit cycle under on/off heat: exact figures computed from the formulas, and a simulation beside."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harness.calibration.process import FirstOrder
from harness.calibration.relay_test.cycle import RelayCycle, limit_cycle, process_of

#: gain, dead time, time constant: estimate of the ultimate gain, ultimate gain, period.
#: Ultimate gains: root of atan(w T) + w L = pi (scipy); estimates by the describing function.
TABLE = [
    (FirstOrder(1.0, 1.0, 10.0), 13.380, 16.351, 3.818),
    (FirstOrder(2.0, 20.0, 100.0), 3.512, 4.251, 73.318),
    (FirstOrder(1.0, 1.0, 1.0), 2.014, 2.262, 2.980),
]


@pytest.mark.parametrize(("process", "estimate", "ultimate", "period_s"), TABLE)
def test_the_even_cycle(process: FirstOrder, estimate: float, ultimate: float, period_s: float) -> None:
    cycle = limit_cycle(process, process.gain / 2.0)
    assert cycle.swing == pytest.approx(
        process.gain * (1.0 - np.exp(-process.dead_time_s / process.time_constant_s))
    )
    assert cycle.ultimate_gain == pytest.approx(estimate, abs=6e-4)
    assert cycle.period_s == pytest.approx(period_s, abs=6e-4)
    assert 0.8 < cycle.ultimate_gain / ultimate < 0.9


@pytest.mark.parametrize("hysteresis", [0.0, 2.0])
def test_an_uneven_cycle_agrees_with_a_simulation(hysteresis: float) -> None:
    process, set_point, step_s = FirstOrder(100.0, 40.0, 900.0), 20.0, 0.02
    waiting = [0.0] * round(process.dead_time_s / step_s)
    rise, on, switches, seen = 0.0, True, [], []
    kept = np.exp(-step_s / process.time_constant_s)
    for step in range(round(6000.0 / step_s)):
        if (on and rise >= set_point + hysteresis) or (not on and rise <= set_point - hysteresis):
            on = not on
            switches.append(step * step_s)
        slot = step % len(waiting)
        rise = rise * kept + process.gain * waiting[slot] * (1.0 - kept)
        waiting[slot] = float(on)
        seen.append(rise)
    cycle = limit_cycle(process, set_point, hysteresis)
    last = np.diff(switches[-3:])
    assert sorted(last) == pytest.approx(sorted([cycle.on_s, cycle.off_s]), abs=0.1)
    assert np.ptp(seen[len(seen) // 2 :]) == pytest.approx(cycle.swing, rel=2e-3)


@settings(max_examples=25)
@given(
    gain=st.floats(20.0, 400.0), ratio=st.floats(0.01, 1.5), constant_s=st.floats(300.0, 20_000.0),
    at=st.floats(0.15, 0.85), share=st.floats(0.0, 0.1),
)  # fmt: skip
def test_a_cycle_gives_back_its_process(
    gain: float, ratio: float, constant_s: float, at: float, share: float
) -> None:
    process = FirstOrder(gain, ratio * constant_s, constant_s)
    found = process_of(limit_cycle(process, at * gain, share * at * gain))
    assert found.gain == pytest.approx(gain, rel=1e-3)
    assert found.dead_time_s == pytest.approx(process.dead_time_s, rel=1e-3)
    assert found.time_constant_s == pytest.approx(constant_s, rel=1e-3)


def test_cycles_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="outside 0 to"):
        limit_cycle(FirstOrder(10.0, 1.0, 10.0), 12.0)
    with pytest.raises(ValueError, match="no more than the hysteresis"):
        RelayCycle(0.3, 10.0, 10.0, 1.0, 0.2).ultimate_gain  # noqa: B018
