"""A scenario's faults of the line, on a hostile link."""

from __future__ import annotations

from collections.abc import Callable

from harness.links import Link
from harness.links.hostile import Fault, HostileLink, Way
from harness.scenario import Disturbance, Scenario

# By kind of disturbance: what becomes of a line.
_WHAT = {
    "line-corrupted": "flipped",
    "line-lost": "lost",
    "line-repeated": "repeated",
    "late-answers": "late",
}
LINE_KINDS = frozenset(_WHAT)


def link_for(scenario: Scenario, link: Link) -> Link:
    """The link as the scenario needs it: wrapped if a fault of the line is to act on it."""
    hostile = any(disturbance.kind in LINE_KINDS for disturbance in scenario.disturbances)
    return HostileLink(link) if hostile else link


class LineUpsets:
    """Begins and ends the faults; `on_lost` hears of each line of the device that is lost whole."""

    def __init__(self, link: Link, on_lost: Callable[[bytes], object]) -> None:
        self._link = link
        self._tokens: dict[int, list[int]] = {}
        if isinstance(link, HostileLink):
            link.on_lost = on_lost

    def begin(self, index: int, disturbance: Disturbance) -> None:
        """Disturbance `index` starts. A fault of the line needs a link from `link_for`."""
        assert isinstance(self._link, HostileLink)
        self._tokens[index] = [self._link.begin(fault) for fault in faults(disturbance)]

    def end(self, index: int) -> int:
        """Disturbance `index` ends; how many lines or bytes it has struck."""
        assert isinstance(self._link, HostileLink)
        return sum(self._link.end(token) for token in self._tokens.pop(index))


def faults(disturbance: Disturbance) -> list[Fault]:
    """What a disturbance of the line does to each way: the last of each so many is struck."""
    what = _WHAT[disturbance.kind]
    ways = [Way(disturbance.place)] if disturbance.place else list(Way)
    if what == "late":
        ways = [Way.TO_BENCH]
    lines = "every" in disturbance.sizes
    every = int(disturbance.sizes["every" if lines else "every_bytes"])
    return [Fault(what, way, first=every - 1, every=every, lines=lines) for way in ways]


def like_tell(line: bytes) -> bool:
    """Whether a line of the device, perhaps with a damaged byte or two, is a figure that it tells."""
    return sum(a == b for a, b in zip(line, b"tell ", strict=False)) >= 3
