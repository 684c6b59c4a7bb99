"""Open-loop calibration of the mash loop: what it is, to the loop's probe, to heat at full fire.

    SETTLE --steady--> FULL --response seen--> AGAIN --steady--> STEADY --bent, or long enough--> FOUND
       '-- a fault, a person, a late burner, no response, the time limit: GAVE_UP, with the reason

It only asks for a duty; what may burn, and when, is decided where it always is. CONTROLLER.md says how the
figures are found.
"""

from controller_config import LONGEST_MS
from pid import divide
from response import Model, Response, gains_of, model_of

NONE = 0
SETTLE = 1
FULL = 2
AGAIN = 3
STEADY = 4
FOUND = 5
GAVE_UP = 6

NOT = 0
PERSON = 1  # stopped, another mode, manual, or the other probe
FAULT = 2
HEAT = 3  # the burner lights late, or the full heat was interrupted
NO_RESPONSE = 4  # not within the time for it
DEAD_TIME = 5  # response at once, or before the heat
UNSTEADY = 6  # does not settle without heat
CEILING = 7  # the liquor is at its ceiling
FIGURES = 8  # a response that fits no model
TIME = 9

# Length of a mean in full heat; under the steady duty, how many blocks from the first mean to the last.
RESPONSE_MS = 10000
BLOCKS_USUAL = 8
BLOCKS_MOST = 16
WINDOWS_MOST = 255


class View:
    """What it goes by in one step.

    asked: running, in this mode, not by hand; fault: one stands; over: the liquor is at its ceiling;
    believed: every probe in use reads; opened: the gas valve is; flame: is seen; place: of the mash loop's
    probe; trial_ms: since the gas was opened, until a flame is proved, else 0; measured: m°C.
    """

    def __init__(self):
        self.asked = self.fault = self.over = self.believed = self.opened = self.flame = False
        self.place = 0
        self.trial_ms = 0
        self.measured = 0


class Calibration:
    """State. `duty` is wanted now; `changed` says that there is something to tell."""

    def __init__(self):
        self.phase = NONE
        self.reason = NOT
        self.place = 0
        self.found = [None, None]  # gains, for the probe at each place
        self.asked = False
        self.changed = False
        self.lit = False
        self.duty = 0
        self.total_ms = 0
        self.phase_ms = 0
        self.value = 0  # read last [m°C]
        self.sum = 0  # over the window [m°C ms]
        self.window_ms = 0
        self.windows = 0  # whole ones in this phase
        self.means = [0, 0, 0]  # of the last windows, the newest last [m°C]
        self.lit_ms = 0  # since the flame was first seen in full heat
        self.rise = 0  # in the window before [m°C]
        self.seen = Response()
        self.model = Model()

    def gains(self, config, place):
        """The gains in force for the probe at `place`: found ones, else the table's."""
        return self.found[place] or config.gains[place]

    def step(self, config, passed_ms, view):
        """One step; `duty` is then in force."""
        asked_was = self.asked
        self.asked = view.asked
        self.changed = False
        if view.asked and not asked_was:
            self._begin(view)
        elif SETTLE <= self.phase <= STEADY:
            self.total_ms = min(self.total_ms + passed_ms, LONGEST_MS)
            self.phase_ms = min(self.phase_ms + passed_ms, LONGEST_MS)
            reason = self._reason_now(config, view)
            if reason != NOT:
                self._give_up(reason)
            else:
                self._move_on(config, passed_ms, view)

    def _begin(self, view):
        self._enter(SETTLE, 0)
        self.reason = NOT
        self.place = view.place
        self.total_ms = 0
        self.value = view.measured if view.believed else 0

    def _enter(self, phase, duty):
        self.phase = phase
        self.changed = True
        self.duty = duty
        self.phase_ms = 0
        self.windows = 0
        self.window_ms = 0
        self.sum = 0

    def _give_up(self, reason):
        self._enter(GAVE_UP, 0)
        self.reason = reason

    def _reason_now(self, config, view):
        """Why to give up now, NOT if there is no reason."""
        if view.fault:
            return FAULT
        if not view.asked or view.place != self.place:
            return PERSON
        if view.trial_ms > config.cal_light_ms:
            return HEAT
        if view.over:
            return CEILING
        return TIME if self.total_ms >= config.cal_limit_ms else NOT

    def _move_on(self, config, passed_ms, view):
        if view.believed:
            self.value = view.measured
        if self.phase == SETTLE:
            self._settle(config, passed_ms, config.cal_settle_ms, FULL, 1000)
        elif self.phase == FULL:
            self._full_heat(config, passed_ms, view)
        elif self.phase == AGAIN:
            self._settle(config, passed_ms, config.cal_again_ms, STEADY, config.cal_duty)
        else:
            self._steady_duty(config, passed_ms, view)

    def _window_full(self, passed_ms, length_ms):
        """True when a window of length_ms is full; its mean is then the newest."""
        self.sum += self.value * passed_ms
        self.window_ms = min(self.window_ms + passed_ms, LONGEST_MS)
        if self.window_ms < length_ms:
            return False
        self.means = [self.means[1], self.means[2], divide(self.sum, self.window_ms)]
        self.sum = 0
        self.window_ms = 0
        self.windows = min(self.windows + 1, WINDOWS_MOST)
        return True

    def _settle(self, config, passed_ms, least_ms, following, duty):
        """Without heat: steady is as much drift to the third mean as there was to the second."""
        if not self._window_full(passed_ms, least_ms // 3):
            return
        drift = self.means[2] - self.means[1]
        change = drift - (self.means[1] - self.means[0])
        if self.windows >= 3 and -config.cal_steady <= change <= config.cal_steady:
            self.seen.base = self.means[2]
            self.seen.drift = drift
            self.seen.drift_ms = least_ms // 3
            self.lit = False
            self._enter(following, duty)
        elif self.phase_ms >= config.cal_settle_most_ms:
            self._give_up(UNSTEADY)

    def _full_heat(self, config, passed_ms, view):
        if self.lit and not view.opened:
            self._give_up(HEAT)
        elif self.phase_ms >= config.cal_respond_ms:
            self._give_up(NO_RESPONSE)
        elif self.lit:
            self.lit_ms = min(self.lit_ms + passed_ms, LONGEST_MS)
            if self._window_full(passed_ms, RESPONSE_MS):
                self._look_for_response(config)
        else:
            self.lit = view.flame and view.opened
            self.lit_ms = 0

    def _look_for_response(self, config):
        """The drift goes on from the middle of the last mean unheated; the moment lies between two means."""
        seen = self.seen
        since_ms = self.phase_ms - RESPONSE_MS // 2 + seen.drift_ms // 2
        rise = self.means[2] - seen.base - divide(seen.drift * since_ms, seen.drift_ms)
        over = rise - config.cal_rise
        if over < 0:
            self.rise = rise
        elif self.windows == 1:
            self._give_up(DEAD_TIME)
        else:
            seen.rise = config.cal_rise
            seen.seen_ms = self.lit_ms - RESPONSE_MS // 2 - RESPONSE_MS * over // (rise - self.rise)
            self._enter(AGAIN, 0)

    def _steady_duty(self, config, passed_ms, view):
        """Means of blocks 0, n/2 and n for n = 2, 4, 8, 16: twice the time tells half as much of a bend."""
        seen = self.seen
        if self.phase_ms < config.cal_soak_ms:
            seen.fired_ms = 0
            seen.passed_ms = 0
            return
        seen.passed_ms = min(seen.passed_ms + passed_ms, LONGEST_MS)
        if view.flame:
            seen.fired_ms = min(seen.fired_ms + passed_ms, LONGEST_MS)
        if not self._window_full(passed_ms, config.cal_block_ms):
            return
        n = self.windows - 1
        if n == 0:
            seen.first = self.means[2]
        elif n & (n - 1) == 0:
            seen.last = self.means[2]
            seen.apart_ms = n // 2 * config.cal_block_ms
            enough = n >= BLOCKS_MOST or (n >= BLOCKS_USUAL and seen.bends()) or (n >= 2 and seen.bent())
            if enough:
                self._finish(config)
            seen.middle = seen.last

    def _finish(self, config):
        model = model_of(self.seen)
        if model is None:
            self._give_up(FIGURES)
        elif model.dead_time_ms <= 0:
            self._give_up(DEAD_TIME)
        else:
            self.model = model
            self.found[self.place] = gains_of(model, config.cal_cycle_ms)
            self._enter(FOUND, 0)
