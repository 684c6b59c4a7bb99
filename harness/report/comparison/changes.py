"""The comparison: what became worse, what better, and what cannot be told. Values in, values out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from harness.assertions.verdict import Outcome
from harness.report.comparison.side import Kept, Side
from harness.report.comparison.tolerance import Tolerance
from harness.report.figures import number


class Kind(StrEnum):
    """How one side stands to the other, the gravest first."""

    WORSE = "worse"
    UNTOLD = "cannot be told"
    BETTER = "better"
    SAME = "the same"


EXIT_CODE = {Kind.WORSE: 1, Kind.UNTOLD: 3, Kind.BETTER: 0, Kind.SAME: 0}

#: What a change of outcome is; every other one, and what neither run could show, cannot be told.
_MOVES = {
    (Outcome.MET, Outcome.BROKEN): Kind.WORSE,
    (Outcome.MET, Outcome.NOT_EXERCISED): Kind.WORSE,
    (Outcome.NOT_EXERCISED, Outcome.BROKEN): Kind.WORSE,
    (Outcome.BROKEN, Outcome.MET): Kind.BETTER,
    (Outcome.NOT_EXERCISED, Outcome.MET): Kind.BETTER,
}


@dataclass(frozen=True)
class Change:
    """One assertion on both sides; `why` says what a person would not see from the two."""

    kind: Kind
    before: Kept | None
    after: Kept | None
    why: str = ""

    @property
    def title(self) -> str:
        """Of the assertion."""
        one = self.after or self.before
        return one.title if one else ""


@dataclass(frozen=True)
class Compared:
    """One scenario on both sides, one of which may be missing.

    `unlike`: why margins are no measure of the firmware; the changes are then told, and count for nothing.
    `doubts`: why a side shows less than it should; a break counts all the same.
    """

    before: Side | None
    after: Side | None
    unlike: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()

    @property
    def side(self) -> Side:
        """The newer of the two that are there."""
        side = self.after or self.before
        assert side is not None
        return side

    @property
    def kind(self) -> Kind:
        """The gravest of what it holds."""
        if self.unlike:
            return Kind.UNTOLD
        kinds = {change.kind for change in self.changes} | ({Kind.UNTOLD} if self.doubts else set())
        return next((kind for kind in Kind if kind in kinds), Kind.SAME)


def compare_all(before: Iterable[Side], after: Iterable[Side], tolerance: Tolerance) -> tuple[Compared, ...]:
    """Every scenario of either side, by name; a name stands once on a side."""
    old, new = ({side.scenario: side for side in sides} for sides in (before, after))
    return tuple(_matched(old.get(name), new.get(name), tolerance) for name in sorted(old | new))


def gravest(compared: Iterable[Compared]) -> Kind:
    """What stands for all of them; where nothing was compared, nothing can be told."""
    kinds = {one.kind for one in compared}
    return next((kind for kind in Kind if kind in kinds), Kind.UNTOLD)


def exit_code(compared: Iterable[Compared]) -> int:
    """1 with anything worse, else 3 with anything that cannot be told, else 0."""
    return EXIT_CODE[gravest(compared)]


def compare(before: Side, after: Side, tolerance: Tolerance) -> Compared:
    """Two runs, whatever their scenarios' names."""
    exchange_ms = max(before.exchange_ms, after.exchange_ms)
    old, new = _by_title(before.assertions), _by_title(after.assertions)
    both = [*new, *(key for key in old if key not in new)]
    return Compared(
        before,
        after,
        unlike=tuple(_unlike(before, after)),
        doubts=tuple(_doubts(before, after)),
        changes=tuple(_change(old.get(key), new.get(key), tolerance, exchange_ms) for key in both),
    )


def _matched(before: Side | None, after: Side | None, tolerance: Tolerance) -> Compared:
    if before is not None and after is not None:
        return compare(before, after, tolerance)
    gone = "it was not played this time" if after is None else "nothing is known of it from before"
    return Compared(before, after, unlike=(gone,))


def _by_title(assertions: Sequence[Kept]) -> dict[tuple[str, int], Kept]:
    """By title, and by place where several have the same."""
    seen: Counter[str] = Counter()
    found = {}
    for one in assertions:
        found[one.title, seen[one.title]] = one
        seen[one.title] += 1
    return found


def _unlike(before: Side, after: Side) -> Iterator[str]:
    if before.plant != after.plant:
        yield f"another plant: {before.plant}, now {after.plant}"
    elif before.setup != after.setup:
        yield f"another plant set-up: {', '.join(_setups(before, after))}"
    if before.script != after.script:
        yield "the scenario plays something else: its length, exchanges, panel, wiring or disturbances"
    if before.seed != after.seed:
        yield f"another seed: {before.seed}, now {after.seed}"
    if before.pace != after.pace:
        yield f"another pace: {before.pace}, now {after.pace}"


def _setups(before: Side, after: Side) -> Iterator[str]:
    for name in sorted(before.setup.keys() | after.setup.keys()):
        old, new = before.setup.get(name), after.setup.get(name)
        if old != new:
            yield f"{name} {_set(old)}, now {_set(new)}"


def _set(value: float | str | None) -> str:
    return "not set" if value is None else value if isinstance(value, str) else number(value)


def _doubts(before: Side, after: Side) -> Iterator[str]:
    for when, side in (("before", before), ("now", after)):
        for reason in side.reasons:
            yield f"{when} inconclusive: {reason}"
        if not side.assertions:
            yield f"{when} nothing was judged"


def _change(before: Kept | None, after: Kept | None, tolerance: Tolerance, exchange_ms: int) -> Change:
    if before is None or after is None:
        gone = "it is demanded no longer" if after is None else "it was not demanded before"
        return Change(Kind.UNTOLD, before, after, gone)
    if before.demand != after.demand or before.unit != after.unit:
        return Change(Kind.UNTOLD, before, after, "it is demanded otherwise than before")
    if before.outcome is not after.outcome or before.outcome not in (Outcome.MET, Outcome.BROKEN):
        return Change(_MOVES.get((before.outcome, after.outcome), Kind.UNTOLD), before, after)
    return Change(_margins(before, after, tolerance, exchange_ms), before, after)


def _margins(before: Kept, after: Kept, tolerance: Tolerance, exchange_ms: int) -> Kind:
    """Of the same outcome; one without a margin was decided by nothing numeric, and is as good as another.

    What may move is a share of the margin or, if that is less, of the figure that is bounded.
    """
    if before.margin is None or after.margin is None:
        return Kind.SAME
    size = max(abs(before.margin), abs(after.margin))
    if before.value is not None and after.value is not None:
        size = min(size, max(abs(before.value), abs(after.value)))
    grown = after.margin - before.margin
    if abs(grown) <= tolerance.allowed(size, before.unit, exchange_ms) * (1 + 1e-9):
        return Kind.SAME
    return Kind.BETTER if grown > 0 else Kind.WORSE
