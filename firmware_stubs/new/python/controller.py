"""A thermostat with a burner guard: inputs and a clock in, outputs out.

It knows no pin and no line, so the rig and the bench have it in common. No certified flame safeguard, and no
stand-in for one. Temperatures are thousandths of a degree Celsius; None is no reading.
"""

HYSTERESIS = 500
LIMIT = 85000
PURGE_MS = 5000  # dark and shut that long before each trial: unburned gas drifts away
TRIAL_MS = 10000  # at most 15 s by 46 CFR 62.35-20(a)(6)

SHUT, TRIAL, BURNING, LOCKOUT = range(4)
_ROLL = 0xFFFFFFFF  # the clock rolls over at 2^32


class Controller:
    """gas, spark, alarm: the outputs, in force from the last step on."""

    def __init__(self, now_ms):
        self.gas = self.spark = self.alarm = False
        self.now_ms = self.dark_ms = now_ms
        self.reset_before = True  # a button held from the first is no reset
        self.enter(SHUT)

    def enter(self, stage):
        self.stage = stage
        self.since_ms = self.now_ms

    def passed_ms(self, since_ms):
        return (self.now_ms - since_ms) & _ROLL

    def step(self, now_ms, tank, setpoint, flame, run, reset, silent):
        """One turn. silent: what gives the inputs has fallen silent, they are stale."""
        self.now_ms = now_ms
        pressed = reset and not self.reset_before
        self.reset_before = reset
        if flame:
            self.dark_ms = now_ms
        if self.stage == LOCKOUT and pressed:
            self.enter(SHUT)
        if silent or tank is None or tank > LIMIT:
            self.enter(LOCKOUT)
        elif self.stage == SHUT:
            self.while_shut(flame, self.wants_heat(tank, setpoint, run))
        elif self.stage != LOCKOUT:
            self.while_open(flame, self.wants_heat(tank, setpoint, run))
        self.gas = self.stage in (TRIAL, BURNING)
        self.spark = self.stage == TRIAL
        self.alarm = self.stage == LOCKOUT

    def wants_heat(self, tank, setpoint, run):
        band = HYSTERESIS if self.stage == SHUT else 1
        return run and setpoint is not None and tank <= setpoint - band

    def while_shut(self, flame, wanted):
        purged = min(self.passed_ms(self.dark_ms), self.passed_ms(self.since_ms)) >= PURGE_MS
        if flame and self.passed_ms(self.since_ms) > PURGE_MS:
            self.enter(LOCKOUT)  # a flame with the valve shut
        elif purged and wanted:
            self.enter(TRIAL)

    def while_open(self, flame, wanted):
        if not wanted:
            self.enter(SHUT)
        elif self.stage == BURNING and not flame:
            self.enter(LOCKOUT)
        elif self.stage == TRIAL and flame:
            self.enter(BURNING)
        elif self.stage == TRIAL and self.passed_ms(self.since_ms) >= TRIAL_MS:
            self.enter(LOCKOUT)
