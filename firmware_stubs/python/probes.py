"""Is a probe's reading to be believed?

Each function of time here counts from the first step that sees a thing, in steps of the time that has passed.
"""

from controller_config import LONGEST_MS

# A reading older than this says nothing about the rate any more. A reference is renewed once it is as old as
# the first.
REFERENCE_RENEWED_MS = 1000
REFERENCE_OLD_MS = 2000


class Probe:
    """One probe: whether it reads, and which fault it has."""

    def __init__(self):
        self.reads = False
        self.lost_ms = 0
        self.has_reference = False
        self.reference = 0
        self.reference_ms = 0

    def step(self, config, passed_ms, value):
        """Take the reading [m°C], None for none; returns the probe's fault: 0, 1, 2 or 4."""
        age = self.reference_ms + passed_ms
        if age > LONGEST_MS:
            age = LONGEST_MS
        self.reference_ms = age
        none = value is None
        if none or value < config.probe_least or value > config.probe_most:
            return self._unread(config, passed_ms, none)
        self.reads = True
        self.lost_ms = -1
        if self.has_reference:
            if age < REFERENCE_RENEWED_MS:
                return self._jump(config, value)
            fault = self._jump(config, value) if age <= REFERENCE_OLD_MS else 0
            self.reference = value
            self.reference_ms = 0
            return fault
        self.has_reference = True
        self.reference = value
        self.reference_ms = 0
        return 0

    def _jump(self, config, value):
        change = value - self.reference
        if -config.probe_jump <= change <= config.probe_jump:
            return 0
        self.reference = value
        self.reference_ms = 0
        return 4

    def _unread(self, config, passed_ms, none):
        self.reads = False
        if self.lost_ms < 0:
            self.lost_ms = 0
        else:
            self.lost_ms = min(self.lost_ms + passed_ms, LONGEST_MS)
        if self.lost_ms < config.probe_lost_ms:
            return 0
        return 1 if none else 2


class Stillness:
    """Watches a reading that must move while the burner heats, beside another in the same water.

    heated_ms runs up while the flame is proved and down while it is not, so that short pulses that only make
    up for losses never add up to a fault; full_ms is the time of a flame without a pause.
    """

    def __init__(self):
        self.reference = 0
        self.beside = 0
        self.heated_ms = 0
        self.full_ms = 0

    def step(self, config, passed_ms, value, beside, heating):
        """Whether `value` [m°C] stood still with a flame.

        Through `frozen_ms` in which `beside` [m°C] did not, or through `frozen_full_ms` without a pause.
        """
        if not heating:
            left = self.heated_ms - passed_ms
            self.heated_ms = left if left > 0 else 0
            self.full_ms = 0
            return False
        change = value - self.reference
        if self.heated_ms == 0 or change > config.frozen_band or change < -config.frozen_band:
            self.reference = value
            self.beside = beside
            self.heated_ms = 1
            self.full_ms = 0
            return False
        self.heated_ms = min(self.heated_ms + passed_ms, LONGEST_MS)
        self.full_ms = min(self.full_ms + passed_ms, LONGEST_MS)
        if value >= config.frozen_below:
            return False
        if self.full_ms >= config.frozen_full_ms:
            return True
        change = beside - self.beside
        moved = change > config.frozen_beside or change < -config.frozen_beside
        return moved and self.heated_ms > config.frozen_ms
