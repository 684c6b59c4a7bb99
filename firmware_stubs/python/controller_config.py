"""Everything a homebuilder may want to change in the reference controller, in one table.

Temperatures are thousandths of a degree Celsius, times milliseconds, duties permille. The same table in C is
c/controller_config.c; keep the two alike.
"""

# Timers stand still here instead of rolling over.
LONGEST_MS = 2147483647


class Gains:
    """One set of PID gains.

    gain is in permille per kelvin, 1 to 10000. integral_ms, derivative_ms and filter_ms are the times of
    the integral action (1 or more), of the derivative action (0: none) and of its filter (1 or more).
    """

    def __init__(self, gain, integral_ms, derivative_ms, filter_ms):
        self.gain = gain
        self.integral_ms = integral_ms
        self.derivative_ms = derivative_ms
        self.filter_ms = filter_ms


class Config:
    """The controller's constants; CONTROLLER.md says what each rule does with them."""

    def __init__(self):
        # Mash loop: one set for each place the probe may sit. Tuned on the plant herms-gas.
        self.gains = (Gains(250, 2400000, 60000, 20000), Gains(250, 2400000, 180000, 30000))
        self.pulse_least_ms = 2000
        # Liquor loop and ceiling.
        self.liquor_most = 90000
        self.liquor_band = 1000
        self.least_on_ms = 20000
        self.least_off_ms = 20000
        self.ceiling_above = 15000
        # Program.
        self.reach_band = 500
        # Burner.
        self.purge_ms = 5000
        self.purge_again_ms = 15000
        self.trial_ms = 8000
        self.prove_ms = 500
        self.loss_ms = 1000
        self.tries = 3
        self.stray_ms = 2000
        self.closing_ms = 3000
        # High limit.
        self.limit_trip = 92000
        self.limit_reset = 87000
        # Probes.
        self.probe_least = -10000
        self.probe_most = 115000
        self.probe_lost_ms = 2000
        self.probe_jump = 10000
        self.frozen_band = 100
        self.frozen_ms = 180000
        self.frozen_beside = 1000
        self.frozen_full_ms = 900000
        self.frozen_below = 95000
        # Pump and flow.
        self.flow_settle_ms = 3000
        self.flow_lost_ms = 5000
        self.pump_start_ms = 10000
        # Line.
        self.silence_ms = 2000
        # Calibration: times of its phases (a block is a whole number of cycles), the steady duty and its
        # cycle, and what counts as a response, as steady and as a burner that lights late.
        self.cal_settle_ms = 300000
        self.cal_respond_ms = 360000
        self.cal_again_ms = 1200000
        self.cal_soak_ms = 1200000
        self.cal_block_ms = 450000
        self.cal_settle_most_ms = 3600000
        self.cal_limit_ms = 14400000
        self.cal_duty = 200
        self.cal_cycle_ms = 30000
        self.cal_rise = 500
        self.cal_steady = 100
        self.cal_light_ms = 5000
