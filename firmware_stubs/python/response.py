"""From what was seen of a response to a model of it, and to the setting of a PI loop. Integers only."""

from controller_config import Gains
from pid import divide

MILLION = 1000000
# A rig that warms by less than 0.1 mK or by more than 1 K a second at full fire is none.
SLOPE_LEAST = 100
SLOPE_MOST = 1000000
GAIN_MOST = 10000000
# Changes smaller than this say nothing of a bend.
CHANGE_LEAST = 300


class Response:
    """What was seen: means of temperatures [m°C], times [ms].

    base is the last mean without heat, drift its change from the one drift_ms before; first, middle and last
    are means under the steady duty, apart_ms from each to the next; fired_ms and passed_ms were spent under
    it with a flame, and in all; seen_ms went from the flame of the full heat until the reading was `rise`
    above the drift.
    """

    def __init__(self):
        self.base = self.drift = self.drift_ms = 0
        self.first = self.middle = self.last = self.apart_ms = 0
        self.fired_ms = self.passed_ms = 0
        self.seen_ms = self.rise = 0

    def bends(self):
        """True if gain and time constant can be told: the second change is 5 to 98 % of the first."""
        return self._bends(98)

    def bent(self):
        """True if the second change is 75 % of the first or less: waiting longer makes little better."""
        return self._bends(75)

    def _bends(self, most):
        one = self.middle - self.first
        two = self.last - self.middle
        if (one > 0) != (two > 0) or abs(one) < CHANGE_LEAST:
            return False
        return abs(two) * 100 <= abs(one) * most and abs(two) * 100 >= abs(one) * 5


class Model:
    """First order with dead time; or an integrator with dead time, where the response does not bend enough.

    slope is at full fire, before losses grow, in millionths of a kelvin a second; gain at full fire for ever,
    in thousandths of a kelvin. A gain and a time constant of 0 cannot be told.
    """

    def __init__(self):
        self.dead_time_ms = 0
        self.slope = 0
        self.gain = 0
        self.time_constant_ms = 0


def log_of_ratio(one, two):
    """Natural logarithm of one / two, one > two > 0, in millionths.

    2 (x + x^3/3 + x^5/5 + ...) with x = (one - two) / (one + two).
    """
    x = (one - two) * MILLION // (one + two)
    power = x
    total = 0
    n = 1
    while power >= n:
        total += power // n
        power = power * x // MILLION * x // MILLION
        n += 2
    return 2 * total


def _at_full_fire(seen, change):
    """What the heat did at full fire of what `change` of the temperature it did as fired."""
    return divide(change * seen.passed_ms, seen.fired_ms)


def _first_order(seen, model):
    """Three means of an exponential, equally far apart: its end, and where the rig would end unheated."""
    one = abs(seen.middle - seen.first)
    two = abs(seen.last - seen.middle)
    time_ms = seen.apart_ms * MILLION // log_of_ratio(one, two)
    way = one * one // (one - two)
    end = seen.first - way if seen.middle < seen.first else seen.first + way
    unheated = seen.base - divide(seen.drift, 2) + divide(seen.drift * time_ms, seen.drift_ms)
    gain = _at_full_fire(seen, end - unheated)
    model.time_constant_ms = time_ms
    model.gain = 0 if gain > GAIN_MOST or gain < 0 else gain
    model.slope = model.gain * MILLION // time_ms


def _integrator(seen, model):
    heated = divide((seen.last - seen.first) * MILLION, 2 * seen.apart_ms)
    slope = _at_full_fire(seen, heated - divide(seen.drift * MILLION, seen.drift_ms))
    model.slope = min(max(slope, 0), SLOPE_MOST + 1)


def model_of(seen):
    """The model, or None if the response fits none. A dead time that is not above 0 fits none either."""
    model = Model()
    if seen.fired_ms <= 0:
        return None
    if seen.bends():
        _first_order(seen, model)
    else:
        _integrator(seen, model)
    if model.slope < SLOPE_LEAST or model.slope > SLOPE_MOST:
        return None
    model.dead_time_ms = seen.seen_ms - seen.rise * MILLION // model.slope
    return model


def gains_of(model, cycle_ms):
    """PI by SIMC (S. Skogestad, J. Process Control 13 (2003) 291-309), closed loop as fast as the dead time.

    To the dead time comes half the cycle of the time-proportioned output.
    """
    delay_ms = model.dead_time_ms + cycle_ms // 2
    gain = MILLION * MILLION // (2 * delay_ms * model.slope)
    integral_ms = 8 * delay_ms
    if model.time_constant_ms != 0:
        integral_ms = min(integral_ms, model.time_constant_ms)
    return Gains(min(max(gain, 1), 10000), integral_ms, 0, 1000)
