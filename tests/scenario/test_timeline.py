"""The order in which disturbances start and end."""

from hypothesis import given
from hypothesis import strategies as st

from harness.scenario import NEVER_MS, Disturbance, Timeline

TIMES = st.integers(0, 60)


@st.composite
def disturbances(draw):
    """A disturbance at a time or on a condition, with one of the kinds of end."""
    at_ms = draw(st.none() | TIMES)
    when = "flame" if at_ms is None else None
    end = draw(st.sampled_from(["open", "for", "until"]))
    if end == "for":
        for_ms = draw(st.integers(1, 20))
        if at_ms is not None and draw(st.booleans()):
            every = draw(st.integers(for_ms, 30))
            return Disturbance(
                "k", at_ms=at_ms, for_ms=for_ms, repeat_every_ms=every, times=draw(st.integers(2, 4))
            )
        return Disturbance("k", at_ms=at_ms, when=when, for_ms=for_ms)
    if end == "until":
        return Disturbance("k", at_ms=at_ms, when=when, end_ms=(at_ms or 0) + draw(st.integers(1, 40)))
    return Disturbance("k", at_ms=at_ms, when=when)


LISTS = st.lists(disturbances(), max_size=6)


def changes(timeline, until_ms):
    return [(one.t_ms, one.starts, one.index) for one in timeline.take_due(until_ms)]


def test_ends_come_before_starts_of_the_same_moment_then_file_order():
    timeline = Timeline(
        [
            Disturbance("c", at_ms=20),
            Disturbance("a", at_ms=10, end_ms=20),
            Disturbance("b", at_ms=20, for_ms=5),
            Disturbance("d", at_ms=15, for_ms=5),
        ]
    )
    assert changes(timeline, 100) == [
        (10, True, 1),
        (15, True, 3),
        (20, False, 1),
        (20, False, 3),
        (20, True, 0),
        (20, True, 2),
        (25, False, 2),
    ]


def test_repeats():
    timeline = Timeline([Disturbance("a", at_ms=5, for_ms=10, repeat_every_ms=10, times=3)])
    expected = [(5, True), (15, False), (15, True), (25, False), (25, True), (35, False)]
    assert [(t_ms, starts) for t_ms, starts, _ in changes(timeline, 99)] == expected


def test_a_condition_waits_until_it_is_told():
    timeline = Timeline([Disturbance("a", when="flame", for_ms=10), Disturbance("b", at_ms=3)])
    assert timeline.pending_conditions == [(0, "flame")]
    assert timeline.next_ms() == 3
    timeline.take_due(50)
    assert timeline.next_ms() == NEVER_MS
    timeline.triggered(0, 60)
    assert timeline.pending_conditions == []
    assert timeline.next_ms(60) == 60
    assert changes(timeline, 100) == [(60, True, 0), (70, False, 0)]


def test_a_condition_that_comes_after_its_end_starts_nothing():
    late = Disturbance("a", when="flame", end_ms=50)
    timeline = Timeline([late])
    timeline.triggered(0, 50)
    assert timeline.take_due(100) == []
    assert timeline.never_started() == [late]


def test_what_never_started():
    early, waiting, later = (
        Disturbance("a", at_ms=1),
        Disturbance("b", when="flame"),
        Disturbance("c", at_ms=99),
    )
    timeline = Timeline([early, waiting, later])
    timeline.take_due(50)
    assert timeline.never_started() == [waiting, later]


@given(LISTS)
def test_every_start_has_its_end_once_unless_open(many):
    timeline = Timeline(many)
    for index, _ in timeline.pending_conditions:
        timeline.triggered(index, 7)
    taken = changes(timeline, 10_000)
    assert [t_ms for t_ms, _, _ in taken] == sorted(t_ms for t_ms, _, _ in taken)
    for index, one in enumerate(many):
        own = [(t_ms, starts) for t_ms, starts, i in taken if i == index]
        never = one.when is not None and one.end_ms is not None and one.end_ms <= 7
        is_open = one.for_ms is None and one.end_ms is None
        assert len(own) == (0 if never else 1 if is_open else 2 * one.times)
        assert [starts for _, starts in own] == [i % 2 == 0 for i in range(len(own))]
        assert (one in timeline.never_started()) == any(one == many[i] for i in _unstarted(many))
    assert timeline.take_due(10_000) == []


def _unstarted(many):
    return [i for i, one in enumerate(many) if one.when is not None and (one.end_ms or 99) <= 7]


@given(LISTS, st.lists(TIMES, max_size=8), st.integers(0, 60))
def test_splitting_the_calls_changes_nothing(many, stops, trigger_ms):
    """However the time is cut into calls, the same changes come, and next_ms foretells each."""
    whole, split = Timeline(many), Timeline(many)
    for timeline in (whole, split):
        for index, _ in timeline.pending_conditions:
            timeline.triggered(index, trigger_ms)
    pieces = []
    for stop in [*sorted(stops), 10_000]:
        foretold = split.next_ms()
        taken = split.take_due(stop)
        assert (foretold <= stop) == bool(taken)
        assert not taken or taken[0].t_ms == foretold
        pieces += taken
    assert pieces == whole.take_due(10_000)
