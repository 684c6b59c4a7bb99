"""The signals an expression may use, and the parts of expressions built from them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

Made = TypeVar("Made")

_SWITCHED_UNITS = frozenset({"bool", "count", "permille"})
_DEVICE = ("in.", "out.", "tell.")
#: What the bench records of itself in wall pace.
_BENCH = frozenset({"bench_late", "answer_time"})


def is_switched(name: str, unit: str) -> bool:
    """Whether a signal holds until the next row: by its unit, or as what was said or the bench noted."""
    return unit in _SWITCHED_UNITS or name.startswith(_DEVICE) or name in _BENCH


class Names:
    """The recorded signals an expression may use, and the nodes built from them so far.

    Equal parts of expressions become one node, so that they are worked out once a stretch.

    Parameters
    ----------
    units : Mapping[str, str]
        Recorded signal -> unit.
    open_prefixes : tuple of str
        Names that begin so may be used although not in `units`: their unit is not known yet.
    start_ms : int
        Bench time at which the run starts; moments such as `at 8 min` count from it. [ms]
    """

    def __init__(
        self, units: Mapping[str, str], open_prefixes: tuple[str, ...] = (), start_ms: int = 0
    ) -> None:
        self.units = dict(units)
        self.open_prefixes = open_prefixes
        self.start_ms = start_ms
        self.used: set[str] = set()
        self._nodes: dict[tuple[Any, ...], Any] = {}

    def node(self, make: Callable[..., Made], *parts: Any) -> Made:
        """`make(*parts)`, the same object for the same parts."""
        key = (make, *parts)
        if key not in self._nodes:
            self._nodes[key] = make(*parts)
        made: Made = self._nodes[key]
        return made

    def nodes(self) -> list[Any]:
        """All nodes, children before those built from them."""
        return list(self._nodes.values())

    @property
    def switched(self) -> frozenset[str]:
        return frozenset(name for name, unit in self.units.items() if is_switched(name, unit))
