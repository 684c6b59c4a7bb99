"""Rules 1 to 6 of firmware_stubs/CONTROLLER.md as scripts, on both cores, also across a roll-over."""

from __future__ import annotations

import pytest

from tests.stubs.controller_rig import CLOCK, CORES
from tests.stubs.controller_script import Script

LIQUOR = "probes=40000 mode=0 liquor_setpoint=60000"
EIGHT_STEPS = " ".join(f"step{n}_setpoint=50000" for n in range(1, 9))
MASH = "probes=40000 mode=1 mash_setpoint=66000"

#: Rule: name: rows. A burner that lights after 1 s: purged at 5 s, a trial, flame at 6 s, proved at 6.5 s.
RULES = {
    "1 a run that is 1 in the first stimulus after go starts": [
        (0, f"{LIQUOR} run=1", "stage=1 duty=1000 gas_valve=0 igniter=0 pump=0 alarm=0"),
        (4.75, "", "stage=1 gas_valve=0"),
        (5, "", "stage=2 gas_valve=1 igniter=1"),
        (6.25, "", "stage=2"),
        (6.5, "", "stage=3 gas_valve=1 igniter=0"),
    ],
    "1 nothing before run": [
        (0, f"{MASH} run=0", "stage=0 pump=0 duty=0"),
        (60, "", "stage=0 pump=0 duty=0"),
        (61, "run=1", "stage=0 pump=1"),
    ],
    "1 run 0 stops at once, run 1 starts again": [
        (0, f"{MASH} run=1", "pump=1"),
        (7, "", "stage=3"),
        (7.25, "run=0", "stage=0 gas_valve=0 pump=0 duty=0 fault=0"),
        (8, "run=1", "pump=1"),
        (12.25, "", "stage=1"),
        (12.5, "", "stage=2"),  # 5 s after flame and valve were first seen off, at 7.5 s
    ],
    "1 a run without a reading stops and is no 0": [
        (0, f"{MASH} run=1", "pump=1"),
        (1, "run=x", "pump=0"),
        (2, "run=1", "pump=0"),
        (3, "run=0", "pump=0"),
        (4, "run=1", "pump=1"),
    ],
    "1 after a power cut, 0 must be seen first": [
        (0, f"{MASH} run=1", "pump=1"),
        (7, "", "stage=3"),
        (8, "cut", "stage=0 pump=0 gas_valve=0"),
        (60, "", "stage=0 pump=0"),
        (61, "run=x", "pump=0"),
        (62, "run=1", "pump=0"),
        (63, "run=0", "pump=0"),
        (64, "run=1", "pump=1"),
        (67, "", "stage=0"),
        (67.25, "", "stage=2"),
    ],
    "2 hysteresis with minimum on and off times": [
        (0, "probes=59001 mode=0 liquor_setpoint=60000 run=1", "duty=0"),
        (10, "liquor=59000", "duty=1000 stage=2"),
        (15, "liquor=60000", "duty=1000 stage=3"),
        (29.75, "", "duty=1000 stage=3"),
        (30, "", "duty=0 stage=0"),
        (31, "liquor=55000", "duty=0"),
        (49.75, "", "duty=0"),
        (50, "", "duty=1000 stage=2"),
        (80, "liquor=59999", "duty=1000 stage=3"),
        (81, "liquor=60000", "duty=0 stage=0"),
    ],
    "2 a stop does not wait for the minimum on time; the minimum off time counts from it": [
        (0, f"{LIQUOR} run=1", "duty=1000"),
        (7, "run=0", "duty=0 stage=0"),
        (8, "run=1", "duty=0"),
        (26.75, "", "duty=0"),
        (27, "", "duty=1000 stage=2"),
    ],
    "2 no set point: no heat, at once": [
        (0, f"{LIQUOR} run=1", "duty=1000"),
        (7, "liquor_setpoint=0", "duty=0 stage=0"),
        (8, "liquor_setpoint=x", "duty=0"),
        (40, "liquor_setpoint=49", "duty=0"),
        (41, "liquor_setpoint=60000", "duty=1000"),
    ],
    "2 the set point is held to 90 degC": [
        (0, "probes=88999 mode=0 liquor_setpoint=120000 run=1", "duty=1000"),
        (30, "liquor=90000 limit=90000", "duty=0 fault=0"),
    ],
    "3 pid holds the pulse it began, skips short ones and fills long ones": [
        # 250 permille per kelvin: 66.0 - 65.6 gives 100 permille of 30 s; the integral adds 1 permille.
        (0, "probes=65600 mode=1 mash_setpoint=66000 run=1", "pump=1"),
        (3.25, "", "duty=100 stage=0"),
        (30, "", "stage=2 gas_valve=1"),
        (31.5, "", "stage=3"),
        (33, "", "stage=3"),
        (33.25, "", "stage=0 gas_valve=0"),
        (59.75, "coil_outlet=65760", "stage=0"),  # 60 permille and what was integrated: under 2 s
        (60, "", "stage=0"),
        (89.75, "coil_outlet=62250", "stage=0"),  # 938 permille: over 28 s
        (90, "", "stage=2"),
        (119.75, "", "stage=3"),
        (120, "", "stage=3"),
    ],
    "3 the liquor's ceiling, with the minimum off time": [
        (0, "probes=40000 liquor=74000 mode=1 mash_setpoint=60000 run=1", "pump=1"),
        (7, "", "duty=1000 stage=3"),
        (8, "liquor=74999", "duty=1000 stage=3"),
        (9, "liquor=75000", "duty=0 stage=0"),
        (10, "liquor=74000", "duty=0"),
        (29.5, "", "duty=0"),  # the ceiling was last seen reached at 9.75 s
        (29.75, "", "duty=1000"),
    ],
    "3 a cycle time is taken at the start of the next window; a duty of 0 ends the pulse": [
        (0, "probes=64000 mode=1 mash_setpoint=66000 cycle_time=20000 run=1", "pump=1"),
        (7, "cycle_time=6000", "stage=3"),
        (9.75, "", "stage=3"),
        (10.25, "", "stage=0"),
        (19.75, "", "stage=0"),
        (20, "", "stage=2"),
        (21.5, "", "stage=3"),
        (23, "", "stage=3"),
        (23.25, "", "stage=0"),
        (40, "cycle_time=120000", ""),
        (59, "", "stage=3"),
        (61, "coil_outlet=69000", "duty=0 stage=0"),
    ],
    "4 a start in manual takes manual_duty at once": [
        (0, "probes=40000 mode=1 manual=1 manual_duty=500 run=1", "pump=1"),
        (3.25, "", "duty=500"),
        (7, "", "stage=3"),
        (14.75, "", "stage=3"),
        (15, "", "stage=0 duty=500"),
    ],
    "4 a change to manual keeps the duty until manual_duty changes; back without a bump": [
        (0, "probes=65600 mode=1 mash_setpoint=66000 manual_duty=700 run=1", "pump=1"),
        (3.25, "", "duty=100"),
        (5, "manual=1", "duty=100"),
        (20, "", "duty=100"),
        (21, "manual_duty=701", "duty=701"),
        (22, "manual_duty=700", "duty=700"),
        (25, "manual_duty=4000", "duty=1000"),
        (27, "manual_duty=700", "duty=700"),
        (29, "manual=0", "duty=700"),
        (31, "", "duty=700"),
        (43, "", "duty=701"),  # 100 permille over an integral time of 2400 s: 0.04 permille a second
    ],
    "4 manual in the liquor mode, under the ceiling of 90 degC": [
        (0, "probes=89999 mode=0 manual=1 manual_duty=1000 run=1", "duty=1000 pump=0"),
        (7, "", "stage=3"),
        (8, "liquor=90000", "duty=0 stage=0"),
        (9, "liquor=89000", "duty=0"),
        (28.5, "", "duty=0"),
        (28.75, "", "duty=1000"),
    ],
    "5 program: hold times from when the step is reached, hand-over, liquor loop": [
        (0, "probes=50000 liquor=40000 mode=2 step1_setpoint=52000 step1_hold=10000 run=1", "step=1 pump=1"),
        (0.25, "step2_setpoint=49000 step2_hold=5000 liquor_setpoint=60000", "step=1"),
        (20, "coil_outlet=51499", "step=1"),
        (21, "coil_outlet=51500", "step=1"),
        (30.75, "coil_outlet=50500", "step=1"),
        (31, "", "step=2 pump=1"),
        (40, "coil_outlet=49501", "step=2"),
        (41, "coil_outlet=49500", "step=2"),
        (45.75, "", "step=2"),
        (46, "", "step=9 pump=0 duty=1000"),
        (60, "coil_outlet=x", "step=9 pump=0 duty=1000 fault=0"),
        (70, "", "step=9 fault=0 stage=3"),
        (80, "coil_outlet=40000 run=0", "step=0 stage=0"),
        (81, "run=1", "step=1 pump=1"),
    ],
    "5 a program without steps hands over at once": [
        (0, f"{LIQUOR} mode=2 run=1", "step=9 pump=0 duty=1000"),
    ],
    "5 eight steps": [
        (0, f"probes=50000 mode=2 liquor_setpoint=40000 {EIGHT_STEPS} run=1", "step=2"),
        (0.25, "", "step=3"),
        (1.25, "", "step=7"),
        (1.5, "", "step=8"),
        (1.75, "", "step=9 pump=0"),
    ],
    "5 the program's time stands still in manual; the pump inlet can be its probe": [
        (0, "probes=40000 pump_inlet=52000 step1_setpoint=52000 step1_hold=5000", "step=0"),
        (0.25, "mash_probe=1 mode=2 run=1", "step=1"),
        (5, "manual=1", "step=1"),
        (60, "manual=0", "step=1"),
        (60.25, "", "step=9"),
    ],
    "6 flame before the start": [
        (0, f"{LIQUOR} flame=1 run=1", "stage=1"),
        (3, "", "fault=0 gas_valve=0"),
        (3.25, "", "fault=8 stage=4 alarm=1"),
        (4, "reset=1", "fault=8 stage=4"),
        (5, "flame=auto reset=0", "fault=8"),
        (6, "reset=1", "fault=0 stage=0"),
    ],
    "6 a flame that comes later is seen after 2 s": [
        (0, f"{LIQUOR} run=0", "stage=0"),
        (10, "flame=1", "fault=0"),
        (12, "", "fault=0"),
        (12.25, "", "fault=8 stage=4"),
    ],
    "6 a flame that does not go out: lockout": [
        (0, f"{LIQUOR} run=1", "stage=1"),
        (10, "flame=1 run=0", "stage=0 gas_valve=0"),
        (13, "", "fault=0"),
        (13.25, "", "fault=8 stage=4"),
    ],
    "6 a flame signal without a reading holds the purge": [
        (0, f"{LIQUOR} run=1", "stage=1"),
        (4.75, "flame=x", "stage=1"),
        (30, "flame=auto", "stage=1"),
        (34.75, "", "stage=1"),
        (35, "", "stage=2"),
    ],
    "6 three tries, 15 s apart, then lockout": [
        (0, f"{LIQUOR} lights=x run=1", "stage=1"),
        (5, "", "stage=2"),
        (12.75, "", "stage=2 gas_valve=1 igniter=1"),
        (13, "", "stage=1 gas_valve=0 igniter=0"),
        (28, "", "stage=1"),
        (28.25, "", "stage=2"),
        (36, "", "stage=2"),
        (36.25, "", "stage=1"),
        (51.5, "", "stage=2"),
        (59.25, "", "stage=2 fault=0"),
        (59.5, "", "stage=4 gas_valve=0 fault=7 alarm=1"),
    ],
    "6 the tries start afresh once a flame is proved": [
        (0, f"{LIQUOR} lights=x run=1", "stage=1"),
        (36.25, "lights=1000", "stage=1"),  # two tries failed
        (53, "", "stage=3"),
        (54, "run=0 lights=x", "stage=0"),
        (55, "run=1", "stage=0"),
        (74, "", "stage=2"),
        (82, "", "stage=1 fault=0"),
        (105.25, "", "stage=1 fault=0"),
        (128.5, "", "stage=4 fault=7"),
    ],
    "6 a flame of less than 0.5 s proves nothing": [
        (0, f"{LIQUOR} lights=x run=1", "stage=1"),
        (6, "flame=1", "stage=2"),
        (6.25, "flame=1", "stage=2"),
        (6.5, "flame=0", "stage=2"),
        (7, "flame=1", "stage=2"),
        (7.25, "flame=x", "stage=2"),
        (7.5, "flame=1", "stage=2"),
        (8, "", "stage=3"),
    ],
    "6 a trial is carried to its end although the loop wants no more heat": [
        (0, "probes=40000 mode=1 manual=1 manual_duty=100 cycle_time=30000 lights=4000 run=1", "pump=1"),
        (30, "", "stage=2"),
        (33.75, "", "stage=2 gas_valve=1"),
        (34, "", "stage=2 gas_valve=1"),
        (34.5, "", "stage=0 gas_valve=0 fault=0"),
        (60, "", "stage=2"),
        (61, "run=0", "stage=0 gas_valve=0"),
        (62, "run=1 manual_duty=1000", "stage=0"),
        (76, "", "stage=1"),
        (76.25, "", "stage=2"),  # 15 s after a trial that was cut short
    ],
    "6 flame lost": [
        (0, f"{LIQUOR} run=1", "stage=1"),
        (10, "flame=0", "stage=3 gas_valve=1"),
        (10.75, "", "stage=3 gas_valve=1"),
        (11, "", "stage=4 gas_valve=0 fault=6 alarm=1 duty=0"),
        (60, "flame=auto", "stage=4 gas_valve=0"),
    ],
    "6 a flame missing for less than 1 s is no loss": [
        (0, f"{LIQUOR} run=1", "stage=1"),
        (10, "flame=0", "stage=3"),
        (10.75, "", "stage=3"),
        (10.9, "flame=1", "stage=3"),
        (11, "flame=x", "stage=3"),
        (11.75, "", "stage=3"),
        (12, "", "stage=4 fault=6"),
    ],
    "modes beyond the three give no heat": [
        (0, f"{LIQUOR} mode=4 run=1", "duty=0 pump=0 step=0"),
        (10, "", "stage=0"),
        (11, "mode=0", "stage=2"),
    ],
}  # fmt: skip


@pytest.fixture(params=CORES.values(), ids=CORES)
def controller(request):
    return request.param()


@pytest.mark.parametrize("start_ms", [0, CLOCK - 7000], ids=["start", "roll-over"])
@pytest.mark.parametrize("rule", RULES)
def test_rule(controller, rule, start_ms):
    Script(controller, start_ms=start_ms).play(RULES[rule])


FAHRENHEIT = {
    # 152.0 degF is 66.667 degC: on at or below 65.667.
    "rounded to tenths of its own degree": [
        (0, "probes=65668 mode=0 liquor_setpoint=152049 run=1", "duty=0"),
        (1, "liquor=65667", "duty=1000"),
    ],
    "half a tenth is rounded away from zero": [
        (0, "probes=65723 mode=0 liquor_setpoint=152050 run=1", "duty=0"),  # 152.1: 66.722
        (1, "liquor=65722", "duty=1000"),
    ],
    "at or below the freezing point there is none": [
        (0, "probes=0 mode=0 liquor_setpoint=32000 run=1", "duty=0"),
        (1, "liquor_setpoint=0", "duty=0"),
        (2, "liquor=-1000 liquor_setpoint=32100", "duty=1000"),
    ],
}


@pytest.mark.parametrize("rule", FAHRENHEIT)
def test_fahrenheit_panel(controller, rule):
    Script(controller, fahrenheit=True).play(FAHRENHEIT[rule])


def test_tells_each_change_of_fault_stage_and_step(controller):
    script = Script(controller)
    script.play(RULES["6 flame lost"])
    assert script.tells == [
        (0.0, "stage", 1), (5.0, "stage", 2), (6.5, "stage", 3), (11.0, "fault", 6), (11.0, "stage", 4),
    ]  # fmt: skip


@pytest.mark.parametrize("step_ms", [50, 300, 1000])
def test_times_are_longer_by_one_step_at_most(controller, step_ms):
    script = Script(controller, step_ms=step_ms)
    script.do(f"{LIQUOR} lights=x run=1")
    opened = shut = None
    while shut is None:
        script.step(step_ms)
        if opened is None and script.outputs["gas_valve"]:
            opened = script.at_ms
        if opened is not None and not script.outputs["gas_valve"]:
            shut = script.at_ms
    assert 5000 <= opened - step_ms < 5000 + step_ms
    assert 8000 <= shut - opened < 8000 + step_ms
