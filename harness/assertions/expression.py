"""One condition by itself: for a disturbance that starts `when` it is true."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from .arrays import Floats, Times, Truths, np
from .build import Builder
from .grid import YES, Stretch
from .names import Names
from .numbers import Look


class Expression:
    """A condition over recorded signals; made by `compile_expression`.

    Attributes
    ----------
    text : str
    names : tuple of str
        The signals it needs.
    """

    def __init__(self, text: str, names: Names) -> None:
        self.text = text
        self._condition = Builder(text, names).condition()
        self.names = tuple(sorted(names.used))
        self._switched = names.switched
        self._past: dict[Any, Any] = {}

    def now(self, get: Callable[[str], float], time_ms: int = 0) -> bool:
        """Whether it is true in the newest row; False where a missing figure decides.

        `get` reads a signal of the row. Edges, `held` and `rate` look at the rows given before, so one
        Expression serves one run; rows must be given in time.
        """
        return self._condition.now(Look(get, time_ms, self._past)) == YES

    def chunk(self, times_ms: Times, columns: Mapping[str, Floats]) -> Truths:
        """Its truth at each row of one chunk, shape (n,): 1 true, -1 false, 0 not known.

        The chunk stands alone: edges, `held` and `rate` see nothing before it. Rows that share a time have
        the truth of the last of them.
        """
        times = np.asarray(times_ms, np.int64)
        if len(times) == 0:
            return np.empty(0, np.int8)
        rows = np.flatnonzero(np.diff(times))
        table = {name: np.append(columns[name], columns[name][-1]) for name in self.names}
        edges = np.append(times[np.append(rows, len(times) - 1)], times[-1]).astype(np.float64)
        stretch = Stretch(edges, np.append(rows, len(times) - 1), table, self._switched, {})
        grid = self._condition.cut(stretch.whole())
        truth = self._condition.truth(grid)[0::2]
        found: Truths = truth[np.searchsorted(grid.points, times)]
        return found


def compile_expression(
    text: str, units: Mapping[str, str], open_prefixes: tuple[str, ...] = (), *, start_ms: int = 0
) -> Expression:
    """The condition that `text` states; ExpressionError, pointing at a character, when it is none.

    `units` maps each recorded signal to its unit. Names that begin with one of `open_prefixes` may be used
    although not in `units`: their unit is not known yet and is not checked.

    >>> hot = compile_expression("liquor > 50 degC", {"liquor": "degC"})
    >>> hot.now({"liquor": 61.5}.__getitem__)
    True
    """
    return Expression(text, Names(units, open_prefixes, start_ms))
