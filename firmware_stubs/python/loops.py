"""From set points to heat wanted: both loops, duty by hand, time-proportioned output, ceiling."""

from controller_config import LONGEST_MS
from pid import Pid

NONE = 0
LIQUOR = 1
MASH = 2
CALIBRATION = 3


class Order:
    """What the loops are asked for in this step.

    kind is the active loop; setpoint [m°C] is 0 for none; place is the probe of the mash loop, 0 or 1, and
    measured its reading, gains what it is controlled with; believed says that every probe in use reads;
    permitted that heat is allowed at all.
    """

    def __init__(self):
        self.kind = NONE
        self.setpoint = 0
        self.manual = False
        self.manual_duty = 0
        self.cycle_ms = 0
        self.liquor = 0
        self.place = 0
        self.measured = 0
        self.gains = None
        self.believed = False
        self.permitted = False


class Loops:
    """State of the loops. duty is the active loop's, whether or not heat is permitted."""

    def __init__(self):
        self.kind = NONE
        self.duty = 0
        self.pid = Pid()
        # Liquor loop.
        self.relay = False
        self.relay_ms = LONGEST_MS  # since the relay last changed
        # Ceiling.
        self.over = False
        self.over_ms = 0  # since the ceiling was last reached
        # Time-proportioned output; window_ms is -1 without a window.
        self.window_ms = -1
        self.length_ms = 0
        self.on_ms = 0
        # By hand.
        self.manual = False
        self.kept = False  # the duty in force at the change to manual goes on ...
        self.kept_input = 0  # ... until manual_duty is no longer this

    def rest(self, passed_ms):
        """No loop is active in this step."""
        self._switch(passed_ms, False)
        self.kind = NONE
        self.duty = 0
        self.pid.ready = False
        self.over = False
        self.window_ms = -1
        self.kept = False

    def step(self, config, passed_ms, order):
        """True if the active loop wants heat now."""
        if order.kind != self.kind:
            self._enter(order)
        self._hand(order)
        self._watch_ceiling(config, passed_ms, order)
        if order.kind == LIQUOR and not order.manual:
            self._liquor(config, passed_ms, order)
            return self.relay
        self._switch(passed_ms, False)
        if order.kind == MASH:
            self._mash(passed_ms, order)
        else:
            self.pid.ready = False
        return self._proportion(config, passed_ms, order.cycle_ms) and not self.over

    def _enter(self, order):
        if self.kind == NONE or order.kind == CALIBRATION:
            self.manual = order.manual
            self.kept = False
        self.kind = order.kind
        self.pid.ready = False
        self.over = False
        self.window_ms = -1

    def _hand(self, order):
        if order.manual:
            if not self.manual:
                self.kept = True
                self.kept_input = order.manual_duty
            elif self.kept and order.manual_duty != self.kept_input:
                self.kept = False
            if not self.kept:
                self.duty = order.manual_duty
        else:
            self.kept = False
        self.manual = order.manual

    def _watch_ceiling(self, config, passed_ms, order):
        if order.kind == LIQUOR and not order.manual:
            self.over = False
            return
        if not order.believed:
            return
        ceiling = config.liquor_most
        if not order.manual:
            ceiling = min(ceiling, order.setpoint + config.ceiling_above)
        if order.liquor >= ceiling:
            self.over = True
            self.over_ms = 0
        elif self.over:
            self.over_ms = min(self.over_ms + passed_ms, LONGEST_MS)
            if order.liquor <= ceiling - config.liquor_band and self.over_ms >= config.least_off_ms:
                self.over = False

    def _switch(self, passed_ms, on):
        if on != self.relay:
            self.relay = on
            self.relay_ms = 0
        else:
            self.relay_ms = min(self.relay_ms + passed_ms, LONGEST_MS)

    def _liquor(self, config, passed_ms, order):
        self.window_ms = -1
        self.pid.ready = False
        age = min(self.relay_ms + passed_ms, LONGEST_MS)
        on = self.relay
        if not order.permitted:
            on = False
        elif on:
            on = order.liquor < order.setpoint or age < config.least_on_ms
        else:
            on = order.liquor <= order.setpoint - config.liquor_band and age >= config.least_off_ms
        self._switch(passed_ms, on)
        self.duty = 1000 if on else 0

    def _mash(self, passed_ms, order):
        if order.setpoint == 0:
            self.pid.ready = False  # by hand only
            return
        if self.pid.due(passed_ms) and order.believed:
            self.duty = self.pid.step(
                order.gains,
                order.place,
                order.setpoint,
                order.measured,
                self.duty,
                order.manual,
                self.over or not order.permitted,
            )

    def _proportion(self, config, passed_ms, cycle_ms):
        window_ms = self.window_ms
        if window_ms >= 0:
            window_ms = min(window_ms + passed_ms, LONGEST_MS)
            if window_ms >= self.length_ms:
                window_ms -= self.length_ms
                if window_ms >= self.length_ms:
                    window_ms = 0
                self._open_window(config, cycle_ms)
        else:
            window_ms = 0
            self._open_window(config, cycle_ms)
        self.window_ms = window_ms
        return window_ms < self.on_ms and self.duty > 0

    def _open_window(self, config, cycle_ms):
        on_ms = self.duty * cycle_ms // 1000
        if on_ms < config.pulse_least_ms:
            on_ms = 0
        elif on_ms > cycle_ms - config.pulse_least_ms:
            on_ms = cycle_ms
        self.length_ms = cycle_ms
        self.on_ms = on_ms
