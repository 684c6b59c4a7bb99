"""Rule 14 of firmware_stubs/CONTROLLER.md as scripts, on both cores, with seconds instead of minutes."""

from __future__ import annotations

import pytest

from tests.stubs.calibration_rig import quick
from tests.stubs.controller_rig import CLOCK, CORES
from tests.stubs.controller_script import Script

BEGUN = "probes=40000 mode=3 run=1"

#: To full heat. The cycle of 10 s began with the calibration, so it fires from 10 s on; lit at 11 s. A mean
#: over 10 s ends at 21, 31 and 41 s.
TO_FULL = [
    (0, BEGUN, "calibration=1 pump=1 duty=0 stage=0"),
    (2.75, "", "calibration=1 duty=0"),
    (3.25, "", "calibration=2 duty=1000 stage=0"),
    (10, "", "stage=2 gas_valve=1"),
    (11.5, "", "stage=3 duty=1000"),
]
#: To the steady duty: the response is 5 K at once after the first mean, so it is seen with the second.
TO_STEADY = [
    *TO_FULL,
    (21, "", "calibration=2 stage=3"),
    (21.25, "coil_outlet=45000", "calibration=2"),
    (30.75, "", "calibration=2 stage=3"),
    (31, "", "calibration=3 duty=0 stage=0"),
    (43, "", "calibration=4 duty=200 stage=0"),
    (50, "", "stage=2"),
]


def ends(reason: int, at_s: float, done: str, more: str = "") -> tuple[float, str, str]:
    return (at_s, done, f"calibration=6 gave_up={reason} gas_valve=0 {more}")


RULES = {
    "no start without a person": [(0, "probes=40000 mode=3", "calibration=0 pump=0"), (9, "", "pump=0")],
    "a turn to mode 3 while it runs begins it": [
        (0, "probes=40000 mode=1 mash_setpoint=66000 run=1", "calibration=0 pump=1"),
        (8, "", "duty=1000 stage=3"),
        (9, "mode=3", "calibration=1 duty=0 stage=0 pump=1"),
    ],
    "1 run 0 ends it; a new start begins it anew": [
        *TO_FULL,
        ends(1, 12, "run=0", "pump=0"),
        (13, "run=1", "calibration=1 gave_up=0 pump=1"),
        (15.75, "", "calibration=1 duty=0"),
        (16, "", "calibration=2"),
    ],
    "1 another mode ends it, and is obeyed": [
        *TO_FULL,
        (12, "mode=1 mash_setpoint=66000", "calibration=6 gave_up=1 duty=1000 stage=3"),
        (13, "mode=3", "calibration=1 duty=0 stage=0"),
    ],
    "1 manual ends it, and is obeyed": [
        *TO_FULL,
        (12, "manual=1 manual_duty=500", "calibration=6 gave_up=1 duty=500 pump=1"),
        (13, "manual=0", "calibration=1 duty=0"),
    ],
    "1 the other probe ends it, and it does not begin again by itself": [
        *TO_FULL,
        ends(1, 12, "mash_probe=1", "duty=0 pump=1"),
        (40, "mash_probe=0", "calibration=6 duty=0 pump=1"),
        (90, "", "calibration=6 duty=0 pump=1"),
    ],
    "2 a fault ends it; after the reset it needs a start": [
        *TO_FULL,
        (12, "flame=0", "calibration=2"),
        (13, "", "fault=6 stage=4 gas_valve=0"),
        ends(2, 13.25, ""),
        (20, "reset=1 flame=auto", "fault=0 calibration=6 pump=0"),
        (21, "reset=0 run=0", "calibration=6"),
        (22, "run=1", "calibration=1 pump=1"),
    ],
    "2 the high limit": [
        (0, BEGUN + " limit=84000", ""),
        *TO_FULL[1:],
        ends(2, 12, "limit=92000", "fault=5 alarm=1"),
    ],
    "2 an emergency stop": [*TO_FULL, ends(2, 12, "estop=1", "fault=11 pump=0")],
    "2 a probe without a reading blocks heat at once and ends it after 2 s": [
        *TO_STEADY,
        (51.5, "", "stage=3"),
        (51.75, "coil_outlet=x", "calibration=4 gas_valve=0 duty=0"),
        (53.5, "", "calibration=4"),
        ends(2, 53.75, "", "fault=1"),
    ],
    "2 silence": [*TO_FULL, (12, "silent", "calibration=2"), ends(2, 14, "", "fault=10 pump=0")],
    "3 full heat that is interrupted": [*TO_FULL, (12, "flow=0", "gas_valve=0"), ends(3, 12.25, "")],
    "3 a burner that lights late, its trial carried to the end": [
        (0, BEGUN + " lights=6000", "calibration=1"),
        (10, "", "stage=2"),
        (15.25, "", "calibration=2 stage=2"),
        (15.5, "", "calibration=6 gave_up=3 stage=2"),
        (16.5, "", "stage=0 gas_valve=0"),
        (60, "", "stage=0 calibration=6 fault=0"),
    ],
    "4 no response within the time for it": [
        *TO_FULL,
        (42.75, "", "calibration=2 stage=3"),
        ends(4, 43, "", "stage=0"),
    ],
    "5 a response at once": [*TO_FULL, (12, "coil_outlet=45000", ""), ends(5, 21, "")],
    "6 never at rest": [
        (0, BEGUN, ""),
        *((1.25 + n, f"coil_outlet={41000 - n % 2 * 1000}", "calibration=1") for n in range(28)),
        (29.75, "", "calibration=1 duty=0"),
        ends(6, 30, "", "duty=0 stage=0"),
    ],
    "7 the ceiling": [
        *TO_FULL,
        (12, "liquor=49000", ""),
        *((13 + n, f"liquor={58000 + 9000 * n}", "") for n in range(3)),
        (16, "liquor=85000", "calibration=2 stage=3"),
        (17, "liquor=90000", "gas_valve=0 duty=0"),
        ends(7, 17.25, "liquor=89000", "duty=0"),
    ],
    "8 heat that does nothing": [
        *TO_STEADY,
        (79.5, "", "calibration=4"),
        ends(8, 79.75, "", "duty=0 pump=1"),
    ],
    "steady duty: 200 of a 10 s cycle": [
        *TO_STEADY,
        (51.75, "", "stage=3 duty=200"),
        (52, "", "stage=0 duty=200 gas_valve=0"),
        (60, "", "calibration=4 duty=200 stage=2"),
        (62, "", "stage=0 alarm=0"),
    ],
    "the panel's cycle time is not the calibration's": [
        (0, BEGUN + " cycle_time=120000", ""),
        *TO_STEADY[1:],
        (52, "", "stage=0"),
        (60, "", "stage=2"),
    ],
    "by hand before: the duty kept is forgotten": [
        (0, "probes=40000 mode=1 mash_setpoint=66000 run=1 manual=0 manual_duty=0", "pump=1"),
        (4, "manual=1", "duty=1000"),
        (5, "mode=3", "duty=1000 calibration=0"),
        (6, "manual=0", "duty=0 calibration=1"),
        (7, "", "duty=0 calibration=1"),
    ],
    "a power cut forgets it": [
        *TO_FULL,
        (12, "cut", "calibration=0 stage=0 pump=0"),
        (60, "", "calibration=0 pump=0"),
        (61, "run=0", ""),
        (62, "run=1", "calibration=1"),
    ],
}  # fmt: skip


@pytest.fixture(params=CORES.values(), ids=CORES)
def controller(request):
    return request.param(quick())


@pytest.mark.parametrize("start_ms", [1000, CLOCK - 5000], ids=["start", "roll-over"])
@pytest.mark.parametrize("name", RULES)
def test_rule(controller, name, start_ms):
    Script(controller, start_ms=start_ms).play(RULES[name])


@pytest.mark.parametrize("core", CORES.values(), ids=CORES)
def test_the_time_limit_ends_it_in_any_phase(core):
    for limit_s, phase in ((2, 1), (30, 2), (40, 3), (50, 4)):
        config = quick()
        config.cal_limit_ms = limit_s * 1000
        rows = [row for row in TO_STEADY if row[0] < limit_s - 0.25]
        Script(core(config)).play(
            [*rows, (limit_s - 0.25, "", f"calibration={phase}"), ends(9, limit_s, "", "duty=0")]
        )
