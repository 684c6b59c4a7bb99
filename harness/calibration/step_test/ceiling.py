"""The temperature at which a test at a rig ends, whatever it was about to do."""

from __future__ import annotations


class Ceiling:
    """Stays passed once a reading has come to `limit` [degC]."""

    def __init__(self, limit: float) -> None:
        self._limit = limit
        self._reading: float | None = None

    def look(self, reading: float) -> None:
        """Take a reading [degC]; NaN passes nothing."""
        if self._reading is None and reading >= self._limit:
            self._reading = reading

    @property
    def passed(self) -> bool:
        """Whether heat must stay off from now on."""
        return self._reading is not None

    def told(self) -> str:
        """Why the test is over; only once it is passed."""
        return f"the probe read {self._reading:.4g} degC; {self._limit:g} are the limit of the test"
