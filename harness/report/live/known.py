"""What is known of a run that goes on: the last row, the last minutes, events, how the assertions stand.

It judges the rows itself, in the process of whoever looks on, so that the bench need not.
"""

from __future__ import annotations

import copy
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from harness.assertions import Bound, Judge, Outcome, Verdict, fixed_bounds
from harness.bench.result import Event
from harness.scenario import Scenario

HISTORY_MS = 300_000
"""How far back a curve goes."""
KEPT_EVENTS = 200


@dataclass(frozen=True)
class Standing:
    """How an assertion stands. `word`: `broken`, `holds` (so far, it was put to the test) or `waits`."""

    title: str
    word: str
    verdict: Verdict


class Known:
    """Fed with what the bench sends; `t_ms` is bench time of the last row.

    Parameters
    ----------
    scenario : as it is played.
    units : recorded signal -> unit, in column order.
    """

    def __init__(self, scenario: Scenario, units: Mapping[str, str]) -> None:
        self.scenario, self.units = scenario, dict(units)
        self.names = list(units)
        self.t_ms = 0
        self.values: dict[str, float] = {}
        self.events: deque[Event] = deque(maxlen=KEPT_EVENTS)
        self.bounds: list[Bound] = fixed_bounds(scenario.assertions, units)
        self._judge = Judge(scenario.assertions, units)
        self._wanted = {name: at for at, name in enumerate(self.names) if name in set(self._judge.names)}
        self._rows: deque[tuple[NDArray[np.int64], NDArray[np.float64]]] = deque()
        self._standings: tuple[Standing, ...] = ()
        self._disturbed: set[str] = set()

    def chunk(self, times_ms: NDArray[np.int64], values: NDArray[np.float64]) -> None:
        """Take rows; shapes (n,) and (n, m)."""
        columns = {name: np.ascontiguousarray(values[:, at]) for name, at in self._wanted.items()}
        self._judge.chunk(times_ms, columns)
        self._rows.append((times_ms, values))
        self.t_ms = int(times_ms[-1])
        self.values = dict(zip(self.names, values[-1].tolist(), strict=True))
        while self._rows and self._rows[0][0][-1] < self.t_ms - HISTORY_MS:
            self._rows.popleft()
        self._standings = ()

    def event(self, event: Event) -> None:
        """Take an event."""
        self.events.append(event)
        if event.source == "disturbance":
            self._disturbed.add(event.text)

    def curve(self, name: str) -> NDArray[np.float64]:
        """The last minutes of a signal, evenly spaced in time; empty where there is none."""
        if name not in self.names or not self._rows:
            return np.empty(0)
        at = self.names.index(name)
        times = np.concatenate([times for times, _ in self._rows])
        values = np.concatenate([values[:, at] for _, values in self._rows])
        instants = np.linspace(max(times[0], self.t_ms - HISTORY_MS), self.t_ms, 240)
        return np.asarray(values[np.searchsorted(times, instants, side="right") - 1])

    def standings(self) -> tuple[Standing, ...]:
        """How each assertion stands, in the scenario's order; worked out anew only after new rows."""
        if not self._standings:
            verdicts = copy.deepcopy(self._judge).finish(self.t_ms, False)
            broken = set(self._judge.broken)
            self._standings = tuple(
                Standing(verdict.title, _word(verdict, at in broken), verdict)
                for at, verdict in enumerate(verdicts)
            )
        return self._standings

    def upcoming(self) -> list[tuple[int | None, str]]:
        """Disturbances still to come, the next first: when [ms], None for one that waits for a condition."""
        found: list[tuple[int | None, str]] = []
        for one in self.scenario.disturbances:
            text = f"{one.kind} {one.place}" if one.place else one.kind
            if one.at_ms is None:
                if f"{text} starts" not in self._disturbed:
                    found.append((None, f"{text} when {one.when}"))
                continue
            starts = (one.at_ms + turn * one.repeat_every_ms for turn in range(one.times))
            later = next((start for start in starts if start > self.t_ms), None)
            if later is not None:
                found.append((later, text))
        return sorted(found, key=lambda each: (each[0] is None, each[0] or 0))

    def bounds_of(self, name: str) -> Sequence[Bound]:
        """What the assertions demand of a signal beside constants."""
        return [bound for bound in self.bounds if bound.signal == name]


def _word(verdict: Verdict, broken: bool) -> str:
    if broken or verdict.outcome is Outcome.BROKEN:
        return "broken"
    return "holds" if verdict.exercised or verdict.outcome is Outcome.MET else "waits"
