"""The burner's sequence: check and purge, ignition trial, run.

    OFF --heat wanted--> PURGE --purged--> TRIAL --flame proved--> RUN
     ^--no longer wanted, or not allowed--'        |               |
     |--trial over without proof (fault 7 after the last try)      |
     '--flame lost (fault 6), not wanted, not allowed--------------'

A trial is carried to its end although the loop wants no more heat: cut short again and again, a slow burner
would only blow unburned gas. What takes the permit away (a stop, a fault, the high limit) ends it at once.
"""

from controller_config import LONGEST_MS

OFF = 0
PURGE = 1
TRIAL = 2
RUN = 3


class Burner:
    """State of the sequence. The valve is open in TRIAL and RUN, the igniter on in TRIAL."""

    def __init__(self, power_cut):
        self.stage = OFF
        self.tries = 0
        # The last opening ended without a proved flame, or, after a power cut, nobody knows how.
        self.unproved = power_cut
        self.shut_ms = 0  # valve shut
        self.dark_ms = -1  # valve shut and no flame; -1: not so
        self.seen_ms = -1  # flame seen without a gap; -1: not seen
        self.missing_ms = -1  # flame not seen
        self.trial_ms = 0

    def watch(self, config, passed_ms, flame):
        """Count the times up to now; `flame` is None without a signal, which is neither flame nor dark.

        True: flame where none can be (fault 8).
        """
        if self.stage >= TRIAL:
            self.shut_ms = 0
            self.dark_ms = -1
        else:
            self.shut_ms = min(self.shut_ms + passed_ms, LONGEST_MS)
            if flame == 0:
                self.dark_ms = 0 if self.dark_ms < 0 else min(self.dark_ms + passed_ms, LONGEST_MS)
            else:
                self.dark_ms = -1
        if flame:
            self.seen_ms = 0 if self.seen_ms < 0 else min(self.seen_ms + passed_ms, LONGEST_MS)
            self.missing_ms = -1
            return self.seen_ms > config.stray_ms and self.shut_ms > config.closing_ms
        self.seen_ms = -1
        self.missing_ms = 0 if self.missing_ms < 0 else min(self.missing_ms + passed_ms, LONGEST_MS)
        return False

    def step(self, config, passed_ms, wanted, permitted):
        """Move the sequence on, after watch(); returns the fault it ran into: 0, 6 or 7."""
        if self.stage == TRIAL:
            self.trial_ms = min(self.trial_ms + passed_ms, LONGEST_MS)
            if not permitted:
                return self._failed(config, False)
            if self.seen_ms >= config.prove_ms:
                self.stage = RUN if wanted else OFF
                self.tries = 0
                self.unproved = False
            elif self.trial_ms >= config.trial_ms:
                return self._failed(config, wanted)
            return 0
        if not (wanted and permitted):
            self.stage = OFF
        elif self.stage == RUN:
            if self.missing_ms >= config.loss_ms:
                self.stage = OFF
                return 6
        else:
            self._approach(config)
        return 0

    def _approach(self, config):
        needed_ms = config.purge_again_ms if self.unproved else config.purge_ms
        if self.dark_ms >= needed_ms:
            self.stage = TRIAL
            self.trial_ms = 0
        else:
            self.stage = PURGE

    def _failed(self, config, wanted):
        self.unproved = True
        self.tries += 1
        if self.tries >= config.tries:
            self.stage = OFF
            return 7
        self.stage = PURGE if wanted else OFF
        return 0
