"""A stretch of the run as pieces on which every signal is a straight line.

A piece begins at a *point* (a recorded time, or a cut between two) and runs to the next one. Of rows that
share a time the last holds from then on, and the first is what a continuous signal came up to. Truth over a
grid is an int8 array of 2 m *elements* for m pieces: the point of piece 0, its open inside, the point of
piece 1, its inside, and so on, each `YES`, `NO` or `UNKNOWN` (Kleene's three values, so that `and` is the
minimum and `or` the maximum). A grid is cut until every condition asked about has one truth inside a piece.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from .arrays import Flags, Floats, Rows, Truths, np

Line = tuple[Floats, Floats]
"""A number over a grid: its value at the point of each piece, and what it comes up to at the piece's end."""

YES, UNKNOWN, NO = 1, 0, -1

TINY_MS = 1e-6
"""Moments nearer to each other than this are one: rounding must not make a piece of its own. [ms]"""


class Stretch:
    """Recorded rows between two moments, as they came: what all cuts of them share.

    Attributes
    ----------
    edges : ndarray, shape (m + 1,)
        Times of the m points, and the end of the last piece. [ms]
    memory : dict
        What each condition with a past remembers from before this stretch.
    closing : bool
        Whether this is the end of the run, where the last row holds and no next one follows.
    """

    def __init__(
        self,
        edges: Floats,
        rows: Rows | None,
        columns: Mapping[str, Floats],
        switched: frozenset[str],
        memory: dict[Any, Any],
        closing: bool = False,
    ) -> None:
        self.edges = edges
        self.memory = memory
        self.closing = closing
        self._rows = rows
        self._columns = columns
        self._switched = switched
        self._lines: dict[str, Line] = {}

    def line(self, name: str) -> Line:
        """A signal over the pieces of this stretch."""
        line = self._lines.get(name)
        if line is None:
            column = self._columns[name]
            if self._rows is None:
                start, end = column[:-1], column[1:]
            else:
                start, end = column[self._rows], column[self._rows + 1]
            if name in self._switched:
                end = start
            elif np.isnan(start).any():
                # What begins unknown comes up to nothing known.
                end = np.where(np.isnan(start), math.nan, end)
            line = (start, end)
            self._lines[name] = line
        return line

    def whole(self) -> Grid:
        """The stretch uncut."""
        return Grid(self, self.edges)


class Grid:
    """A stretch cut at some moments; keeps what was worked out on it."""

    def __init__(self, stretch: Stretch, edges: Floats) -> None:
        self.stretch = stretch
        self.edges = edges
        self.memo: dict[Any, Any] = {}
        self._parts: tuple[Rows, Floats, Floats] | None = None

    @property
    def pieces(self) -> int:
        return len(self.edges) - 1

    @property
    def points(self) -> Floats:
        """Times of the points, shape (m,). [ms]"""
        return self.edges[:-1]

    def line(self, name: str) -> Line:
        """A signal over the pieces of this grid."""
        start, end = self.stretch.line(name)
        if self.edges is self.stretch.edges:
            return start, end
        origin, first, last = self._inside()
        if start is end:
            held = start[origin]
            return held, held
        start, end = start[origin], end[origin]
        slope = end - start
        # At the ends the rows themselves: exact, and known although the other end may be missing.
        begins = np.where(first == 0.0, start, start + slope * first)
        return begins, np.where(last == 1.0, end, start + slope * last)

    def steps(self, values: Floats) -> Floats:
        """Values that belong to the uncut pieces, for the pieces of this grid."""
        return values if self.edges is self.stretch.edges else values[self._inside()[0]]

    def cut(self, moments: Floats) -> Grid:
        """This grid with more points; moments outside it or on an edge change nothing."""
        if len(moments) == 0:
            return self
        inside = np.unique(moments[(moments > self.edges[0]) & (moments < self.edges[-1])])
        place = np.searchsorted(self.edges, inside)
        fresh = (inside - self.edges[place - 1] > TINY_MS) & (self.edges[place] - inside > TINY_MS)
        fresh[1:] &= np.diff(inside) > TINY_MS
        if not fresh.any():
            return self
        return Grid(self.stretch, np.insert(self.edges, place[fresh], inside[fresh]))

    def crossings(self, start: Floats, end: Floats) -> Floats:
        """Moments inside pieces at which a straight line from `start` to `end` passes zero. [ms]"""
        at = np.flatnonzero(start * end < 0.0)
        if len(at) == 0:
            return np.empty(0)
        share = start[at] / (start[at] - end[at])
        before, after = self.edges[at], self.edges[at + 1]
        moments: Floats = before + (after - before) * share
        return moments

    def _inside(self) -> tuple[Rows, Floats, Floats]:
        """For each piece the uncut piece it lies in, and the shares of that at which it starts and ends."""
        if self._parts is None:
            whole = self.stretch.edges
            origin = np.searchsorted(whole, self.points, side="right") - 1
            # A point on the last edge belongs to the zero-length piece there, if there is one.
            origin = np.minimum(origin, len(whole) - 2)
            length = np.diff(whole)[origin]
            length[length == 0.0] = 1.0
            before = whole[origin]
            first = (self.edges[:-1] - before) / length
            last = (self.edges[1:] - before) / length
            self._parts = (origin, first, last)
        return self._parts


def interleave(points: Any, insides: Any) -> Truths:
    """One truth array from the truths at the points and inside the pieces, shape (2 m,)."""
    both = np.empty(2 * len(points), np.int8)
    both[0::2] = points
    both[1::2] = insides
    return both


def runs(where: Flags) -> list[tuple[int, int]]:
    """First and last element of each unbroken run of True."""
    if not where.any():
        return []
    change = np.flatnonzero(where[1:] != where[:-1]) + 1
    bounds = [0, *change.tolist(), len(where)]
    return [(first, after - 1) for first, after in pairwise(bounds) if where[first]]


def begins(edges: Floats, element: int) -> float:
    """Moment at which an element begins. [ms]"""
    return float(edges[element // 2])


def ends(edges: Floats, element: int) -> float:
    """Moment at which an element ends; a point ends where it begins. [ms]"""
    return float(edges[(element + 1) // 2])
