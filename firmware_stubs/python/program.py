"""The step program: up to 8 steps of a set point and a hold time, then the hand-over to the liquor loop."""

from controller_config import LONGEST_MS
from panel import STEP1_SETPOINT, setpoint_of

HANDED_OVER = 9


class Program:
    """step is 0 without a program, 1 to 8 for the step in force, 9 after the hand-over."""

    def __init__(self):
        self.step = 0
        self.reached = False
        self.held_ms = 0

    def stop(self):
        """There is no program any more; the next start begins at step 1."""
        self.step = 0
        self.reached = False

    def follow(self, config, passed_ms, inputs, fahrenheit, measured):
        """Set point in force [m°C], 0 after the hand-over; `measured` is None while the time stands still."""
        if self.step == 0:
            self.step = 1
        value = self._setpoint(inputs, fahrenheit)
        if value != 0 and measured is not None and self._over(config, passed_ms, inputs, measured - value):
            self.reached = False
            self.step += 1
            value = self._setpoint(inputs, fahrenheit)
        return value

    def _setpoint(self, inputs, fahrenheit):
        if self.step == HANDED_OVER:
            return 0
        value = setpoint_of(inputs[STEP1_SETPOINT + 2 * (self.step - 1)], fahrenheit)
        if value == 0:
            self.step = HANDED_OVER
        return value

    def _over(self, config, passed_ms, inputs, away):
        if self.reached:
            self.held_ms = min(self.held_ms + passed_ms, LONGEST_MS)
        elif -config.reach_band <= away <= config.reach_band:
            self.reached = True
            self.held_ms = 0
        hold_ms = inputs[STEP1_SETPOINT + 2 * (self.step - 1) + 1]
        return self.reached and (hold_ms is None or self.held_ms >= hold_ms)
