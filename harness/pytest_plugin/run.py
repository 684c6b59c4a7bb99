"""A run that a test has played: verdicts, signals, events."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from harness.assertions.names import is_switched
from harness.assertions.verdict import Verdict
from harness.bench.result import RunResult
from harness.logbook import LoggedEvent, RunRecord
from harness.quantity import parse_ms


class Run:
    """What `bench.play` gives. `run["liquor"]` is a signal; `run.times_s` are its times.

    Attributes
    ----------
    result : status, verdicts, reasons and notes as the bench gave them.
    record : the run in the logbook.
    """

    def __init__(self, result: RunResult, record: RunRecord) -> None:
        self.result, self.record = result, record

    @property
    def status(self) -> str:
        """`pass`, `fail` or `inconclusive`."""
        return str(self.result.status)

    @property
    def verdicts(self) -> tuple[Verdict, ...]:
        """One an assertion, in their order."""
        return self.result.verdicts

    @property
    def events(self) -> tuple[LoggedEvent, ...]:
        """Everything that happened, by rising time."""
        return self.record.events

    @property
    def signals(self) -> tuple[str, ...]:
        """The names of all recorded signals."""
        return self.record.names

    @cached_property
    def times_s(self) -> NDArray[np.float64]:
        """Bench time of each row, shape (n,), rising; of rows with one time the last holds on. [s]"""
        return self._read[0] / 1000.0

    def __getitem__(self, signal: str) -> NDArray[np.float64]:
        """A signal's value in each row, shape (n,), in the unit that `unit` names; NaN is no value."""
        self._known(signal)
        return self._read[1][signal]

    def unit(self, signal: str) -> str:
        """The unit of a signal."""
        self._known(signal)
        return self.record.units[signal]

    def at(self, signal: str, when: str) -> float:
        """A signal's value at a bench time such as `"8 min 5 s"`, in its unit.

        The plant's continuous signals are linear between rows; what is switched, sent or told holds.
        """
        values, times = self[signal], self._read[0]
        t_ms = parse_ms(when)
        if not len(times) or not times[0] <= t_ms <= times[-1]:
            raise ValueError(f"{when!r} is outside the run, which ends at {self.result.length_ms / 1000:g} s")
        if is_switched(signal, self.unit(signal)):
            return float(values[np.searchsorted(times, t_ms, side="right") - 1])
        return float(np.interp(t_ms, times, values))

    def verdict(self, title: str) -> Verdict:
        """The verdict of the assertion with this title, or with this part of its title if only one has it."""
        found = [one for one in self.verdicts if one.title == title]
        found = found or [one for one in self.verdicts if title in one.title]
        if len(found) != 1:
            titles = ", ".join(repr(one.title) for one in found or self.verdicts)
            raise KeyError(f"{title!r} is {'in several titles' if found else 'no title'}: {titles}")
        return found[0]

    def margin(self, title: str) -> float:
        """The margin of that assertion in the verdict's unit; NaN where nothing numeric decided."""
        margin = self.verdict(title).margin
        return float("nan") if margin is None else margin

    @cached_property
    def _read(self) -> tuple[NDArray[np.int64], dict[str, NDArray[np.float64]]]:
        return self.record.signals()

    def _known(self, signal: str) -> None:
        if signal not in self.record.units:
            raise KeyError(f"{signal!r} was not recorded. Recorded: {', '.join(self.signals)}")

    def __repr__(self) -> str:
        return f"<run {self.result.run_id}: {self.status}, {len(self.verdicts)} assertions>"
