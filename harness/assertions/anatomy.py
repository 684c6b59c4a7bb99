"""What an assertion looked at over a whole run: for drawing it, not for judging.

The nodes that judged are asked again, over all rows at once, for the two sides of each comparison and for
the times at which each stated condition was true.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from .arrays import Floats, Times, np
from .build import Builder
from .build_figures import FigureBuilder, build_figure
from .conditions import Condition, Less
from .grid import YES, Grid, begins, ends, runs
from .names import Names
from .numbers import Number
from .recorder import Recorder
from .said import said
from .spec import AssertionSpec

Spans = tuple[tuple[float, float], ...]

_CONDITIONS = ("always", "never", "sometime", "before", "again", "count", "each", "expect")
_TALLIED = ("count", "each", "figure", "again")


@dataclass(frozen=True)
class Course:
    """A number over the run.

    `times` (n,) [ms] rise or stay; `values` (n,) [`unit`] are straight between them and jump where a time
    comes twice. `constant` is its value where it never changes. `text` is how an expression writes it.
    """

    text: str
    unit: str
    times: Floats
    values: Floats
    constant: float | None = None


@dataclass(frozen=True)
class Anatomy:
    """The parts of one assertion.

    Attributes
    ----------
    signals : the recorded signals it names, in alphabetical order.
    scope : from when to when it was judged [ms]; None without a scope.
    truths : TOML key to the times from and to which what stands there was true. [ms]
    compared : the comparisons in what is judged, lower side first, in the order written.
    numbers : what a figure of merit is taken of, such as a signal and its target.
    bound : what is tallied may be at most or must be at least this; in the figure's unit. None elsewhere.
    """

    signals: tuple[str, ...]
    scope: Spans | None
    truths: Mapping[str, Spans]
    compared: tuple[tuple[Course, Course], ...]
    numbers: tuple[Course, ...]
    bound: float | None


def dissect(
    spec: AssertionSpec,
    units: Mapping[str, str],
    times_ms: Times,
    columns: Mapping[str, Floats],
    end_ms: int,
) -> Anatomy:
    """The parts of `spec` over the run with these rows; ExpressionError if it makes no sense of them."""
    names = Names(units)
    conditions = dict(_conditions(spec, names))
    scope = Builder(spec.while_, names).scope() if spec.while_ is not None else None
    figure = FigureBuilder(spec.figure, names).arguments() if spec.figure is not None else []
    bound = build_figure(spec, names)[1].value if spec.stated in _TALLIED else None
    numbers = [part for part in figure if isinstance(part, Number)]
    conditions.update(("figure", part) for part in figure if isinstance(part, Condition))
    compared = list(dict.fromkeys(less for part in conditions.values() for less in _comparisons(part)))
    sides = [(less.children[0], less.children[1]) for less in compared]
    wanted = [*numbers, *(side for pair in sides for side in pair)]

    keepers = [node for node in names.nodes() if hasattr(node, "remember")]
    recorder = Recorder(sorted(names.used), names.switched, keepers)
    grids = []
    with np.errstate(all="ignore"):
        for stretch in (recorder.stretch(times_ms, columns), recorder.close(end_ms)):
            if stretch is not None:
                whole = stretch.whole()
                # Asked now: what a condition remembers changes with the next stretch.
                grids.append(_Looked(whole, [*conditions.values(), *([scope] if scope else [])], wanted))
                recorder.remember(whole)
    return Anatomy(
        signals=tuple(sorted(names.used)),
        scope=_spans(grids, scope) if scope is not None else None,
        truths={key: _spans(grids, condition) for key, condition in conditions.items()},
        compared=tuple(
            (_course(grids, less.children[0]), _course(grids, less.children[1])) for less in compared
        ),
        numbers=tuple(_course(grids, number) for number in numbers),
        bound=bound,
    )


def _conditions(spec: AssertionSpec, names: Names) -> Iterator[tuple[str, Condition]]:
    if spec.after is not None:
        yield "after", Builder(spec.after, names).trigger()
    for key in _CONDITIONS:
        text = spec.value(key)
        if isinstance(text, str):
            yield key, Builder(text, names).condition()


def _comparisons(part: Any) -> Iterator[Less]:
    if isinstance(part, Less):
        yield part
    for child in part.children:
        yield from _comparisons(child)


class _Looked:
    """One stretch, with every wanted part worked out on a grid cut for it."""

    def __init__(self, whole: Grid, conditions: list[Condition], numbers: list[Number]) -> None:
        self.spans: dict[Any, list[tuple[float, float]]] = {}
        self.lines: dict[Any, tuple[Floats, Floats]] = {}
        for condition in conditions:
            grid = condition.cut(whole)
            found = runs(condition.truth(grid) == YES)
            self.spans[condition] = [(begins(grid.edges, a), ends(grid.edges, b)) for a, b in found]
        for number in numbers:
            grid = number.cut(whole)
            start, end = number.line(grid)
            self.lines[number] = np.repeat(grid.edges, 2)[1:-1], np.stack((start, end), axis=1).ravel()


def _spans(looked: list[_Looked], condition: Condition) -> Spans:
    """Times at which it was true; what goes on from one stretch to the next is one."""
    joined: list[tuple[float, float]] = []
    for begin, end in (span for stretch in looked for span in stretch.spans[condition]):
        if joined and joined[-1][1] == begin:
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((begin, end))
    return tuple(joined)


def _course(looked: list[_Looked], number: Number) -> Course:
    lines = [stretch.lines[number] for stretch in looked]
    times, values = (np.concatenate([line[part] for line in lines] or [np.empty(0)]) for part in (0, 1))
    return Course(said(number), number.kind.label, times, values, number.constant)
