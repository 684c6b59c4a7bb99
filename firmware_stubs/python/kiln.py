"""A kiln controller: one ramp to the top temperature, a hold, and the end; with a limit of its own.

    python kiln.py          or, on the bench, --device builtin:kiln

A new `run` starts the ramp at the kiln's temperature. The ramp waits while the kiln lags more than WAIT_MDEGC
behind it. The coils are driven by time proportioning in windows of CYCLE_MS, from a PI that works on the
difference to the ramp. While the door is open the coils are off and the firing waits.

Faults take the coils off, raise the alarm and stay until a reset and a new `run`: 1 the kiln's probe without
a plausible reading for PROBE_MS, 2 the limit (its own probe at LIMIT_MDEGC, or without a reading), 3 full
demand for LAG_MS that has not warmed the kiln by LAG_MDEGC, 4 the kiln rises past what is asked although the
coils are off, 5 the line silent. Power that comes back starts nothing: `run` must be switched off and on.
"""

from pipe import serve
from unlit_kit import Kit

KILN, LIMIT, DOOR_OPEN, RUN, RESET, RATE, TOP, HOLD = range(8)
INPUTS = (
    ("kiln", "mdegC"), ("limit", "mdegC"), ("door_open", "bool"), ("run", "bool"), ("reset", "bool"),
    ("rate", "count"), ("top", "mdegC"), ("hold", "ms"),
)  # fmt: skip
OUTPUTS = (
    ("element", "bool"), ("alarm", "bool"), ("fault", "count"), ("stage", "count"), ("duty", "permille"),
)  # fmt: skip

OFF, RAMP, HOLDING, DONE = range(4)
NO_PROBE, OVER_LIMIT, NO_EFFECT, UNASKED, SILENT = range(1, 6)
LIMIT_MDEGC = 1290000
TOP_MOST_MDEGC = 1280000
LOWEST_MDEGC, HIGHEST_MDEGC = -30000, 1400000
CYCLE_MS = 30000
PROBE_MS = 5000
WAIT_MDEGC = 15000
LAG_MS, LAG_MDEGC = 900000, 5000
OVER_MDEGC = 25000
SILENCE_MS = 30000
GAIN_PERMILLE_K = 25
INTEGRAL_MS = 1200000


def plausible(reading):
    """Whether a thermocouple in a kiln can read so."""
    return reading is not None and LOWEST_MDEGC <= reading <= HIGHEST_MDEGC


class Controller:
    """One firing. Times are counted up, so the clock may roll over."""

    def __init__(self):
        self._as_new(run_was=False)

    def _as_new(self, run_was):
        self.clock = None
        self.stage, self.fault = OFF, 0
        self.asked = self.held_ms = self.blind_ms = self.lag_ms = self.lag_from = 0
        self.integral = 0.0
        self.duty = self.window_ms = self.on_ms = 0
        self.run_was, self.reset_was = run_was, True

    def on_go(self, kit):
        """Start as new; a `run` that is on already was set by a person on this panel."""
        self._as_new(run_was=False)

    def on_back(self, kit):
        """Power is back: a `run` that is still on starts nothing."""
        self._as_new(run_was=True)

    def on_step(self, kit):
        """One turn of the control loop."""
        now = kit.millis()
        passed = 0 if self.clock is None else (now - self.clock) & 0xFFFFFFFF
        self.clock = now
        kiln = kit.input(KILN)
        sound = plausible(kiln)
        self._person(kit, kiln if sound else None)
        self._watch(kit, passed, kiln, sound)
        door = kit.input_on(DOOR_OPEN)
        firing = self.stage in (RAMP, HOLDING) and not self.fault and sound and not door
        if firing:
            self._follow(kit, passed, kiln)
        self.duty = self._demand(passed, kiln) if firing and self.stage != DONE else 0
        values = (self._pulse(passed), int(bool(self.fault)), self.fault, self.stage, self.duty)
        for place, value in enumerate(values):
            kit.set_output(place, value)

    def _person(self, kit, kiln):
        run, reset = kit.input_on(RUN), kit.input_on(RESET)
        if reset and not self.reset_was:
            self.fault = 0
        if not run:
            self.stage = OFF
        elif not self.run_was and not self.fault and kiln is not None:
            self.stage, self.asked, self.held_ms = RAMP, kiln, 0
            self.integral = 0.0
            self.lag_ms = 0
        self.run_was, self.reset_was = run, reset

    def _watch(self, kit, passed, kiln, sound):
        """Take up faults."""
        self.blind_ms = 0 if sound else self.blind_ms + passed
        if self.blind_ms >= PROBE_MS:
            self._fail(kit, NO_PROBE)
        limit = kit.input(LIMIT)
        if not plausible(limit) or limit >= LIMIT_MDEGC:
            self._fail(kit, OVER_LIMIT)
        if sound and self.duty < 1000:
            self.lag_ms, self.lag_from = 0, kiln
        elif sound:
            self.lag_ms += passed
            if kiln >= self.lag_from + LAG_MDEGC:
                self.lag_ms, self.lag_from = 0, kiln
            elif self.lag_ms >= LAG_MS:
                self._fail(kit, NO_EFFECT)
        if sound and self.stage in (RAMP, HOLDING) and not self.duty and kiln > self.asked + OVER_MDEGC:
            self._fail(kit, UNASKED)
        if kit.quiet_ms() > SILENCE_MS:
            self._fail(kit, SILENT)

    def _fail(self, kit, fault):
        if not self.fault:
            self.fault, self.stage = fault, OFF
            kit.tell("fault", fault)

    def _follow(self, kit, passed, kiln):
        """Carry the ramp and the hold on."""
        top = min(kit.input(TOP) or 0, TOP_MOST_MDEGC)
        if self.stage == RAMP:
            if kiln > self.asked - WAIT_MDEGC:
                self.asked = min(top, self.asked + (kit.input(RATE) or 0) * passed // 3600)
            if self.asked >= top and kiln >= top - 2000:
                self.stage = HOLDING
        else:
            self.held_ms += passed
            if self.held_ms >= (kit.input(HOLD) or 0):
                self.stage = DONE

    def _demand(self, passed, kiln):
        """Duty [permille]: a PI whose integral stands while the demand is at its end."""
        error = (self.asked - kiln) / 1000.0
        change = GAIN_PERMILLE_K * error * passed / INTEGRAL_MS
        raw = GAIN_PERMILLE_K * error + self.integral + change
        if 0.0 <= raw <= 1000.0 or (raw > 1000.0) == (error < 0.0):
            self.integral += change
        return int(min(max(GAIN_PERMILLE_K * error + self.integral, 0.0), 1000.0))

    def _pulse(self, passed):
        """On or off: the share of the window that is the duty, taken anew at each window's start."""
        self.window_ms += passed
        if self.window_ms >= CYCLE_MS or not self.duty:
            self.window_ms = 0
            self.on_ms = self.duty * CYCLE_MS // 1000
        return int(self.duty > 0 and self.window_ms < self.on_ms)


def make_kit(write):
    """A kit with the controller on it."""
    return Kit("kiln 1.0", INPUTS, OUTPUTS, write, Controller())


if __name__ == "__main__":
    serve(make_kit)
