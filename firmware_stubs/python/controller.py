"""The reference controller's core: inputs and a clock in, outputs out. CONTROLLER.md is what it does.

No input, output or clock of its own; integers only. c/controller.c is the same to the last bit: change both.
One step: times passed, probes, reset, faults, start and stop, calibration, loops, burner, outputs.
"""

import burner
import loops
import panel
from burner import Burner
from calibration import Calibration, View
from controller_config import LONGEST_MS
from loops import Loops, Order
from probes import Probe, Stillness
from program import HANDED_OVER, Program

HIGH_LIMIT = 5
NO_FLOW = 9
SILENT = 10
STOPPED = 11
NV_DAMAGED = 12

LOCKOUTS = 1 << 6 | 1 << 7 | 1 << 8
PUMP_OFF = 1 << NO_FLOW | 1 << SILENT | 1 << STOPPED
# Faults 5 to 8 survive a power cut: bits 0 to 3 of the non-volatile byte; bits 4 to 7 are their complement,
# and anything else is damaged. 0: never stored.
NV_SHIFT = 5
NV_BITS = 0x0F
NV_WRONG = 0xFF

LOCKOUT_STAGE = 4

OUTPUT_NAMES = ("gas_valve", "igniter", "pump", "alarm", "duty", "stage", "fault", "step")
FAULT_CHANGED = 1
STAGE_CHANGED = 2
STEP_CHANGED = 4
CALIBRATION_CHANGED = 8


def _is_on(value):
    return value is not None and value != 0


def _lowest(faults):
    """Number of the lowest fault that stands, 0 for none."""
    number = 0
    while faults and not faults >> number & 1:
        number += 1
    return number


def _latched(nv):
    """Faults in the non-volatile byte."""
    latched = nv & NV_BITS
    if nv == 0 or nv >> 4 == latched ^ NV_BITS:
        return latched << NV_SHIFT
    return 1 << NV_DAMAGED


class Controller:
    """The whole state.

    outputs: eight integers, the order of OUTPUT_NAMES, in force from the last step on.
    changed: FAULT_CHANGED and its like: what the last step (or the start) changed.
    nv: the non-volatile byte as it should be.
    """

    def __init__(self, config, fahrenheit, now_ms, nv, power_cut):
        """Start. `nv` is the stored byte, 0 if none, 255 if damaged; power_cut: False for a start as new."""
        self.config = config
        self.fahrenheit = fahrenheit
        self.now_ms = now_ms
        self.probes = (Probe(), Probe(), Probe(), Probe())
        self.stillness = Stillness()
        self.burner = Burner(power_cut)
        self.loops = Loops()
        self.order = Order()
        self.program = Program()
        self.calibration = Calibration()
        self.view = View()
        self.faults = _latched(nv)
        self.fault = 0
        self.started = False
        # A `run` that is 1 after a power cut is no start; a `reset` that is 1 from the first is no reset.
        self.run_was = power_cut
        self.reset_was = True
        self.believed = False
        self.pump = False
        self.pump_ms = 0
        self.flow = False
        self.flow_ms = 0  # since `flow` changed, while the pump is on
        self.outputs = [0] * 8
        self.changed = 0
        self.nv = nv
        self._put_out(0)

    def step(self, now_ms, quiet_ms, inputs):
        """One turn at the clock `now_ms` (rolls over at 2^32).

        quiet_ms is how long the line has been silent; inputs are 32 integers in the channels' order and
        units, None where there is none.
        """
        passed_ms = (now_ms - self.now_ms) & 0xFFFFFFFF
        if passed_ms > LONGEST_MS:
            passed_ms = LONGEST_MS
        self.now_ms = now_ms
        mode = inputs[panel.MODE]
        if mode is None:
            mode = panel.MODE_LIQUOR
        found = self._watch(passed_ms, inputs, mode, quiet_ms)
        self._reset(inputs)
        self.faults |= found
        self._start_stop(inputs[panel.RUN])
        self._choose_loop(passed_ms, inputs, mode)
        self._calibrate(passed_ms, inputs)
        wanted = self._run_loop(passed_ms, inputs)
        permitted = self.order.permitted
        fault = self.burner.step(self.config, passed_ms, wanted, permitted)
        if fault:
            self.faults |= 1 << fault
            permitted = False
        self._put_out(self.loops.duty if permitted and not self.loops.over else 0)

    def _watch(self, passed_ms, inputs, mode, quiet_ms):
        """Faults found now, a bit each."""
        found = self._watch_probes(passed_ms, inputs, mode)
        heating = self.burner.stage == burner.RUN
        if self.probes[0].reads and self.probes[3].reads:
            liquor, limit = inputs[panel.LIQUOR], inputs[panel.LIMIT]
            if self.stillness.step(self.config, passed_ms, liquor, limit, heating):
                found |= 1 << 3
        if self.burner.watch(self.config, passed_ms, inputs[panel.FLAME]):
            found |= 1 << 8
        if self._watch_flow(passed_ms, _is_on(inputs[panel.FLOW])):
            found |= 1 << NO_FLOW
        if quiet_ms >= self.config.silence_ms:
            found |= 1 << SILENT
        if _is_on(inputs[panel.ESTOP]):
            found |= 1 << STOPPED
        return found

    def _watch_probes(self, passed_ms, inputs, mode):
        config = self.config
        liquor, coil_outlet, pump_inlet, limit = self.probes
        found = 1 << liquor.step(config, passed_ms, inputs[0])
        of_mash = 1 << coil_outlet.step(config, passed_ms, inputs[1])
        of_mash |= 1 << pump_inlet.step(config, passed_ms, inputs[2])
        of_limit = 1 << limit.step(config, passed_ms, inputs[3])
        believed = liquor.reads and limit.reads
        in_program = mode == panel.MODE_PROGRAM and self.program.step != HANDED_OVER
        if mode in (panel.MODE_MASH, panel.MODE_CALIBRATION) or in_program:
            found |= of_mash
            believed = believed and coil_outlet.reads and pump_inlet.reads
        self.believed = believed
        reading = inputs[3]
        if of_limit != 1 or (reading is not None and reading >= config.limit_trip):
            found |= of_limit | 1 << HIGH_LIMIT
        return found & ~1

    def _watch_flow(self, passed_ms, flow):
        """Count the pump's and the flow's times; True if the flow is missing too long."""
        config = self.config
        if not self.pump:
            self.pump_ms = 0
            self.flow_ms = 0
            self.flow = False
            return False
        self.pump_ms = min(self.pump_ms + passed_ms, LONGEST_MS)
        if flow != self.flow:
            self.flow = flow
            self.flow_ms = 0
        else:
            self.flow_ms = min(self.flow_ms + passed_ms, LONGEST_MS)
        return not flow and self.flow_ms >= config.flow_lost_ms and self.pump_ms >= config.pump_start_ms

    def _reset(self, inputs):
        reset = _is_on(inputs[panel.RESET])
        if reset and not self.reset_was and self.faults:
            limit = self.probes[3]
            if limit.reads and inputs[panel.LIMIT] < self.config.limit_reset:
                self.faults = 0
            else:
                self.faults &= 1 << HIGH_LIMIT
            self.started = False
            self.burner.tries = 0
            self.run_was = True
        self.reset_was = reset

    def _start_stop(self, run):
        if run is None:
            self.started = False
        elif run == 0:
            self.started = False
            self.run_was = False
        else:
            if not self.run_was and not self.faults:
                self.started = True
            self.run_was = True
        if self.faults & PUMP_OFF:
            self.started = False

    def _choose_loop(self, passed_ms, inputs, mode):
        """Fill the order but for its permit; the pump follows the loop."""
        order = self.order
        order.manual = _is_on(inputs[panel.MANUAL])
        order.place = 1 if inputs[panel.MASH_PROBE] == 1 else 0
        order.measured = inputs[panel.COIL_OUTLET + order.place]
        order.gains = self.calibration.gains(self.config, order.place)
        order.kind = loops.NONE
        order.setpoint = 0
        if not self.started or mode != panel.MODE_PROGRAM:
            self.program.stop()
        if self.started:
            if mode == panel.MODE_LIQUOR:
                order.kind = loops.LIQUOR
            elif mode == panel.MODE_MASH:
                order.kind = loops.MASH
                order.setpoint = panel.setpoint_of(inputs[panel.MASH_SETPOINT], self.fahrenheit)
            elif mode == panel.MODE_PROGRAM:
                self._follow_program(passed_ms, inputs)
            elif mode == panel.MODE_CALIBRATION:
                order.kind = loops.MASH if order.manual else loops.CALIBRATION
            if order.kind == loops.LIQUOR:
                order.setpoint = panel.setpoint_of(inputs[panel.LIQUOR_SETPOINT], self.fahrenheit)
        self.pump = order.kind in (loops.MASH, loops.CALIBRATION)

    def _calibrate(self, passed_ms, inputs):
        """Its duty is proportioned and bounded as one set by hand."""
        order, view = self.order, self.view
        view.asked = order.kind == loops.CALIBRATION
        view.fault = self.faults != 0
        view.over = self.loops.over
        view.believed = self.believed
        view.opened = self.burner.stage >= burner.TRIAL
        view.flame = _is_on(inputs[panel.FLAME])
        view.place = order.place
        view.trial_ms = self.burner.trial_ms if self.burner.stage == burner.TRIAL else 0
        view.measured = order.measured
        self.calibration.step(self.config, passed_ms, view)
        order.manual = order.manual or view.asked

    def _follow_program(self, passed_ms, inputs):
        order = self.order
        counts = self.believed and not order.manual and not self.faults
        order.setpoint = self.program.follow(
            self.config, passed_ms, inputs, self.fahrenheit, order.measured if counts else None
        )
        order.kind = loops.LIQUOR if self.program.step == HANDED_OVER else loops.MASH

    def _run_loop(self, passed_ms, inputs):
        """True if the active loop wants heat; the permit is in the order."""
        order = self.order
        order.permitted = False
        if order.kind == loops.NONE or self.faults or (order.setpoint == 0 and not order.manual):
            self.loops.rest(passed_ms)
            return False
        order.permitted = self.believed and (
            not self.pump or (self.flow and self.flow_ms >= self.config.flow_settle_ms)
        )
        order.believed = self.believed
        order.liquor = inputs[panel.LIQUOR]
        order.manual_duty = panel.duty_of(inputs[panel.MANUAL_DUTY])
        order.cycle_ms = panel.cycle_of(inputs[panel.CYCLE_TIME])
        if order.kind == loops.CALIBRATION:
            order.manual_duty = self.calibration.duty
            order.cycle_ms = self.config.cal_cycle_ms
        return self.loops.step(self.config, passed_ms, order)

    def _put_out(self, duty):
        faults = self.faults
        if not faults >> self.fault & 1:
            self.fault = _lowest(faults)
        stage = LOCKOUT_STAGE if faults & LOCKOUTS else self.burner.stage
        out = self.outputs
        self.changed = (
            (FAULT_CHANGED if self.fault != out[6] else 0)
            | (STAGE_CHANGED if stage != out[5] else 0)
            | (STEP_CHANGED if self.program.step != out[7] else 0)
            | (CALIBRATION_CHANGED if self.calibration.changed else 0)
        )
        out[0] = 1 if self.burner.stage >= burner.TRIAL else 0
        out[1] = 1 if self.burner.stage == burner.TRIAL else 0
        out[2] = 1 if self.pump else 0
        out[3] = 1 if faults else 0
        out[4] = duty
        out[5] = stage
        out[6] = self.fault
        out[7] = self.program.step
        latched = faults >> NV_SHIFT & NV_BITS
        self.nv = NV_WRONG if faults >> NV_DAMAGED else latched | (latched ^ NV_BITS) << 4
