"""PID in integers: position form, derivative on the measurement and filtered, conditional integration.

Inside, a duty is in thousandths of a permille: permille per kelvin times thousandths of a kelvin. The set
point is not weighted: a step of it should bring full fire at once, and the integral holds meanwhile.
"""

from controller_config import LONGEST_MS

EVERY_MS = 1000
LONGEST_STEP_MS = 2000
FULL = 1000000
# Bounds each term, so that their sum stays far inside 32 bits.
TERM_MOST = 100000000


def divide(a, b):
    """a / b truncated toward zero, as C does it; b > 0."""
    return a // b if a >= 0 else -(-a // b)


def bound(value, most):
    """`value` held to -most ... most."""
    if value > most:
        return most
    return -most if value < -most else value


class Pid:
    """State of the loop; `ready` is False until the first measurement was taken."""

    def __init__(self):
        self.ready = False
        self.place = 0
        self.since_ms = 0
        self.integral = 0
        self.filtered = 0  # millionths of a degree

    def due(self, passed_ms):
        """True if the loop is to be computed now: at once at first, then every second."""
        self.since_ms = min(self.since_ms + passed_ms, LONGEST_MS)
        return not self.ready or self.since_ms >= EVERY_MS

    def step(self, gains, place, setpoint, measured, duty, follow, hold):
        """Compute the duty [permille].

        follow: the duty is set by hand; keep ready to take over at `duty` without a bump. A change of
        `place`, the probe in use, is taken over without a bump too. hold: the heat is blocked; do not
        integrate.
        """
        step_ms = min(self.since_ms, LONGEST_STEP_MS)
        self.since_ms = 0
        if not self.ready:
            self.integral = 0
        if not self.ready or place != self.place:
            follow = follow or self.ready
            self.filtered = measured * 1000
            self.ready = True
            self.place = place
        error = setpoint - measured
        proportional = bound(gains.gain * error, TERM_MOST)
        derivative = self._derivative(gains, measured, step_ms)
        if follow:
            self.integral = duty * 1000 - proportional - derivative
            return duty
        total = proportional + derivative + self.integral
        if not (hold or (total >= FULL and error > 0) or (total <= 0 and error < 0)):
            change = bound(divide(gains.gain * error * step_ms, gains.integral_ms), TERM_MOST)
            self._integrate(change)
            total = proportional + derivative + self.integral
        return 0 if total <= 0 else (min(total, FULL) + 500) // 1000

    def _derivative(self, gains, measured, step_ms):
        lag = measured * 1000 - self.filtered
        self.filtered += divide(lag * step_ms, gains.filter_ms + step_ms)
        lag = measured * 1000 - self.filtered
        return -bound(divide(gains.gain * gains.derivative_ms * lag, gains.filter_ms * 1000), TERM_MOST)

    def _integrate(self, change):
        # Never carried out of 0 to FULL; taken over from a hand-set duty it may begin outside.
        after = self.integral + change
        if change > 0 and after > FULL:
            after = max(self.integral, FULL)
        elif change < 0 and after < 0:
            after = min(self.integral, 0)
        self.integral = after
