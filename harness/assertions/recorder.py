"""Turns recorded chunks into stretches: keeps the newest row until it is known what follows it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from .arrays import Floats, Times, np
from .grid import Stretch


class Recorder:
    """Chunks in, stretches out; holds one row and what conditions remember, whatever the run's length.

    Parameters
    ----------
    names : iterable of str
        The signals that will be asked for.
    switched : frozenset of str
        Those that hold until the next row.
    keepers : list
        Conditions and numbers with a past, each after those it is made of.
    """

    def __init__(self, names: Iterable[str], switched: frozenset[str], keepers: list[Any]) -> None:
        self.names = tuple(names)
        self.begun_ms: int | None = None
        self._switched = switched
        self._keepers = keepers
        self._memory: dict[Any, Any] = {}
        self._time = np.empty(0, np.int64)
        self._row: dict[str, Floats] = {}

    def stretch(
        self, times_ms: Times, columns: Mapping[str, Floats]
    ) -> Stretch | None:
        """What is certain once these rows are known; None while no time has passed.

        Raises ValueError when the rows are not in time.
        """
        times, table = self._joined(times_ms, columns)
        steps = np.diff(times)
        if len(steps) and steps.min() < 0:
            at = int(steps.argmin())
            raise ValueError(f"rows must be in time: {times[at + 1]} ms follows {times[at]} ms")
        rows = None if len(steps) == 0 or steps.min() > 0 else np.flatnonzero(steps)
        self._keep(times, table)
        if len(steps) == 0 or (rows is not None and len(rows) == 0):
            return None
        kept = times if rows is None else np.append(times[rows], times[-1])
        return Stretch(kept.astype(np.float64), rows, table, self._switched, self._memory)

    def close(self, end_ms: int) -> Stretch | None:
        """The end of the run: the last row holds to `end_ms`, and that moment itself is judged."""
        if len(self._time) == 0:
            return None
        last, end = float(self._time[0]), float(max(end_ms, self._time[0]))
        edges = np.array([end, end] if end == last else [last, end, end])
        held = {name: np.repeat(row, len(edges)) for name, row in self._row.items()}
        return Stretch(edges, None, held, self._switched, self._memory, closing=True)

    def remember(self, whole: Any) -> None:
        """Take what is needed from a stretch that has been judged."""
        self._memory.update([(keeper, keeper.remember(whole)) for keeper in self._keepers])

    def _joined(self, times_ms: Any, columns: Any) -> tuple[Any, dict[str, Floats]]:
        times = np.asarray(times_ms, np.int64)
        if len(times) and self.begun_ms is None:
            self.begun_ms = int(times[0])
        if len(self._time) == 0:
            return times, {name: np.asarray(columns[name], np.float64) for name in self.names}
        return np.concatenate((self._time, times)), {
            name: np.concatenate((self._row[name], columns[name])) for name in self.names
        }

    def _keep(self, times: Any, table: dict[str, Floats]) -> None:
        self._time = times[-1:].copy()
        self._row = {name: column[-1:].copy() for name, column in table.items()}
