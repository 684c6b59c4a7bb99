"""Rules 7 to 13 of firmware_stubs/CONTROLLER.md as scripts, on both cores, also across a roll-over."""

from __future__ import annotations

import pytest

from tests.stubs.controller_rig import CLOCK, CORES
from tests.stubs.controller_script import Script

LIQUOR = "probes=40000 mode=0 liquor_setpoint=60000"
MASH = "probes=40000 mode=1 mash_setpoint=66000"

#: Rule: rows; a burner that lights after 1 s has its flame proved at 6.5 s.
RULES = {
    "7 a lockout survives a power cut and needs reset and a new start": [
        (0, f"{LIQUOR} run=1", "nv=240"),
        (10, "flame=0", "stage=3"),
        (11, "", "stage=4 fault=6 nv=210"),
        (12, "run=0 flame=auto cut", "stage=4 fault=6 alarm=1 nv=210"),
        (13, "run=1", "stage=4 fault=6"),
        (14, "reset=1", "stage=0 fault=0 alarm=0 nv=240"),
        (60, "reset=0", "stage=0"),
        (61, "run=0", "stage=0"),
        (62, "run=1", "stage=2"),
    ],
    "7 a start in the same step as the reset does not count": [
        (0, f"{LIQUOR} run=1 estop=1", "fault=11"),
        (1, "run=0 estop=0", "fault=11"),
        (2, "run=1 reset=1", "fault=0 duty=0"),
        (3, "reset=0", "duty=0"),
        (4, "run=0", "duty=0"),
        (5, "run=1", "duty=1000"),
    ],
    "7 a reset that is 1 from the first is none": [
        (0, f"{LIQUOR} run=1", ""),
        (10, "flame=0", ""),
        (11, "", "fault=6"),
        (12, "reset=1 cut flame=auto", "fault=6"),
        (13, "", "fault=6"),
        (14, "reset=0", "fault=6"),
        (15, "reset=1", "fault=0"),
    ],
    "7 go forgets": [
        (0, f"{LIQUOR} run=1", ""),
        (10, "flame=0", ""),
        (11, "", "fault=6 nv=210"),
        (12, "go flame=auto", "fault=0 duty=1000 nv=240"),
    ],
    "8 the high limit trips whatever the loops say, and latches": [
        (0, "probes=85000 mode=0 manual=1 manual_duty=1000 run=1", "duty=1000"),
        (8, "limit=91999", "stage=3 fault=0"),
        (9, "limit=92000", "stage=0 gas_valve=0 fault=5 alarm=1 nv=225"),
        (10, "limit=87000 reset=1", "fault=5"),
        (11, "cut", "fault=5 nv=225"),
        (12, "reset=0", "fault=5"),
        (13, "limit=86999", "fault=5"),
        (14, "reset=1", "fault=0 nv=240"),
    ],
    "8 an implausible limit probe is a high limit": [
        (0, "probes=60000 mode=0 liquor_setpoint=70000 run=1", ""),
        (8, "limit=x", "gas_valve=0 fault=0"),
        (10, "", "fault=1 nv=225"),
        (11, "reset=1", "fault=1 nv=225"),
        (12, "reset=0 limit=60000", "fault=1"),
        (13, "reset=1", "fault=0 nv=240"),
        (14, "limit=120000 reset=0", "fault=5 nv=225"),
        (16, "", "fault=5"),
    ],
    "8 a jump of the limit probe": [
        (0, "probes=60000 run=0", "fault=0"),
        (5, "limit=70001", "fault=4 nv=225"),
        (6, "reset=1", "fault=0"),
    ],
    "9 open: heat off at once, fault after 2 s": [
        (0, f"{LIQUOR} run=1", ""),
        (8, "liquor=x", "gas_valve=0 duty=0 fault=0"),
        (9.75, "", "fault=0"),
        (10, "", "fault=1 alarm=1"),
        (11, "reset=1", "fault=1"),
        (12, "liquor=40000 reset=0", "fault=1"),
        (13, "reset=1", "fault=0"),
    ],
    "9 out of range: heat off at once, fault after 2 s": [
        (0, f"{LIQUOR} run=1", ""),
        (8, "liquor=-10001", "gas_valve=0 fault=0"),
        (9, "liquor=115001", "gas_valve=0 fault=0"),
        (10, "", "fault=2"),
    ],
    "9 open for less than 2 s": [
        (0, f"{LIQUOR} run=1", ""),
        (8, "liquor=x", "gas_valve=0 fault=0"),
        (9.75, "liquor=40500", "fault=0"),
        (27.75, "", "duty=0"),
        (28.25, "", "stage=2"),
    ],
    "9 the mash's probes count in mash and program only": [
        (0, f"{LIQUOR} coil_outlet=x pump_inlet=x run=1", ""),
        (30, "", "fault=0 stage=3"),
        (31, "mode=1", "fault=1 gas_valve=0"),
    ],
    "9 rate": [
        (0, f"{LIQUOR} run=1", ""),
        (8, "liquor=50000", "fault=0"),
        (9, "liquor=60001", "fault=4 gas_valve=0"),
        (10, "reset=1", "fault=0"),
    ],
    "9 rate over a short gap, and none over one longer than 2 s": [
        (0, f"{LIQUOR} run=0", ""),
        (8, "liquor=x", ""),
        (8.75, "liquor=50001", "fault=4"),
        (10, "coil_outlet=x reset=1", "fault=0"),
        (20, "coil_outlet=70000", "fault=0"),
    ],
    "9 a liquor probe that stands still under 180 s of flame while the limit probe moves": [
        (0, f"{LIQUOR} run=1", ""),
        (6.5, "", "stage=3"),
        (100, "limit=41001", "stage=3"),
        (186.5, "liquor=40100", "stage=3 fault=0"),
        (186.75, "", "stage=0 fault=3"),
    ],
    "9 a limit probe that falls tells of it too": [
        (0, f"{LIQUOR} run=1", ""),
        (180, "limit=38999", "stage=3"),
        (186.75, "", "stage=0 fault=3"),
    ],
    "9 a liquor probe that moves": [
        (0, f"{LIQUOR} run=1", ""),
        (100, "liquor=40101 limit=42000", "stage=3"),
        (279.75, "limit=43001", "stage=3 fault=0"),
        (280, "", "fault=3"),
    ],
    "9 a tank that stands still in all its probes at full fire": [
        (0, f"{LIQUOR} run=1", ""),
        (6.5, "", "stage=3"),
        (600, "limit=41000", "stage=3"),
        (906.5, "", "stage=3 fault=0"),
        (906.75, "", "stage=0 fault=3"),
    ],
    "9 pulses do not add up while the limit probe stands still too": [
        (0, "probes=40000 mode=0 manual=1 manual_duty=900 cycle_time=120000 run=1", ""),
        (2400, "", "fault=0"),
    ],
    "10 heat only after 3 s of flow, and only while it is seen": [
        (0, f"{MASH} flow=0 run=1", "pump=1 duty=0"),
        (1, "flow=1", "duty=0"),
        (3.75, "", "duty=0"),
        (4, "", "duty=1000 stage=1"),
        (7, "flow=0", "duty=0 stage=0 pump=1"),
        (8, "flow=1", "duty=0"),
        (11, "", "duty=1000"),
    ],
    "10 no flow": [
        (0, f"{MASH} flow=0 run=1", "pump=1"),
        (9.75, "", "pump=1 fault=0"),
        (10, "", "pump=0 fault=9 alarm=1"),
        (11, "reset=1", "fault=0 pump=0"),
    ],
    "10 flow lost later": [
        (0, f"{MASH} run=1", "pump=1"),
        (30, "flow=0", "pump=1 fault=0 duty=0"),
        (34.75, "", "pump=1 fault=0"),
        (35, "", "pump=0 fault=9"),
    ],
    "11 silence": [
        (0, f"{MASH} run=1", "pump=1"),
        (10, "silent", "stage=3"),
        (11.5, "", "stage=3 pump=1"),
        (11.75, "", "stage=0 pump=0 gas_valve=0 duty=0 alarm=1 fault=10"),
        (20, "heard", "fault=10"),
        (20.25, "run=0", "fault=10 pump=0"),
        (21, "run=1", "fault=10 pump=0"),
        (22, "reset=1", "fault=0 pump=0"),
        (23, "run=0", "pump=0"),
        (24, "run=1", "pump=1"),
    ],
    "12 emergency stop, in every state": [
        (0, f"{MASH} run=1", "pump=1"),
        (5, "estop=1", "stage=0 pump=0 gas_valve=0 igniter=0 alarm=1 fault=11"),
        (6, "reset=1", "fault=11"),
        (7, "estop=0 reset=0", "fault=11"),
        (8, "reset=1", "fault=0"),
        (9, "run=0 lights=x", ""),
        (10, "run=1", "pump=1"),
        (18, "", "stage=2"),
        (18.25, "estop=1", "stage=0 gas_valve=0 igniter=0 fault=11"),
    ],
    "13 a fault leaves the pump on; the first stays shown, then the lowest": [
        (0, f"{MASH} run=1", "pump=1"),
        (10, "flame=0", "stage=3"),
        (11, "", "fault=6 pump=1 gas_valve=0"),
        (12, "limit=x liquor=x", "fault=6"),
        (14, "", "fault=6 pump=1 nv=195"),
        (15, "reset=1", "fault=1 pump=0 stage=0 nv=225"),
    ],
    "13 reset does nothing while no fault stands": [
        (0, f"{MASH} run=1", "pump=1"),
        (10, "reset=1", "pump=1 stage=3"),
    ],
}  # fmt: skip


@pytest.fixture(params=CORES.values(), ids=CORES)
def controller(request):
    return request.param()


@pytest.mark.parametrize("start_ms", [0, CLOCK - 7000], ids=["start", "roll-over"])
@pytest.mark.parametrize("rule", RULES)
def test_rule(controller, rule, start_ms):
    Script(controller, start_ms=start_ms).play(RULES[rule])


@pytest.mark.parametrize("nv", [1, 16, 31, 254, 255])
def test_damaged_memory_is_a_fault_of_its_own(controller, nv):
    assert controller.start(0, nv, power_cut=True)[3:10] == [1, 0, 0, 12, 0, 1, 255]
