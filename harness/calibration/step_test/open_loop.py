"""The procedure as a plan: it goes on until gain and time constant can be told."""

from __future__ import annotations

from harness.calibration.identify.least_squares import Fit, UntellableError
from harness.calibration.identify.told import told
from harness.calibration.record import HeatRecord
from harness.calibration.step_test.ceiling import Ceiling
from harness.calibration.step_test.procedure import Procedure

LOOK_MS = 600_000
"""Between two looks at how well the figures can be told."""


class OpenLoop:
    """Heat by the clock; readings only decide when it is over.

    Attributes
    ----------
    told : whether gain and time constant can be told as precisely as asked.
    """

    def __init__(self, procedure: Procedure) -> None:
        self._procedure = procedure
        self._ceiling = Ceiling(procedure.limit)
        self._last: Fit | None = None
        self.told = False

    def turn(self, t_ms: int, reading: float) -> bool:
        """Whether heat is wanted from `t_ms` on."""
        self._ceiling.look(reading)
        return not self._ceiling.passed and self._procedure.wants_heat(t_ms)

    def next_change_ms(self, t_ms: int) -> int:
        """The next edge of a phase or a pulse."""
        return self._procedure.next_change_ms(t_ms)

    def wants_look(self, t_ms: int) -> bool:
        """Every ten minutes once the small duty was long enough, and at once where it is too hot."""
        since = t_ms - self._procedure.small_from_ms - self._procedure.shortest_small_ms
        return self._ceiling.passed or (since >= 0 and since % LOOK_MS < self._procedure.every_ms)

    def over(self, record: HeatRecord) -> str | None:
        """Why the test may end now."""
        if self._ceiling.passed:
            return self._ceiling.told()
        try:
            found = told(record, self._last)
        except UntellableError:
            return None
        self._last = found.fit
        self.told = found.within(self._procedure.precision)
        share = 100.0 * self._procedure.precision
        return f"gain and time constant are told within {share:g} %" if self.told else None
