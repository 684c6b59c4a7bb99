"""The comparison is a function of two sides: its laws, and by hand what is worse, better, not to be told."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from harness.assertions.verdict import Outcome
from harness.quantity import parse_quantity
from harness.report.comparison.changes import Kind, compare, compare_all, exit_code
from harness.report.comparison.side import Kept, Side
from harness.report.comparison.tolerance import Tolerance, dimension_of
from tests.report.comparison.sides import met, pairs, side, sides

TENTH = Tolerance()
NONE_AT_ALL = Tolerance(0.0)
MIRROR = {Kind.WORSE: Kind.BETTER, Kind.BETTER: Kind.WORSE}
M, B, N, J = Outcome.MET, Outcome.BROKEN, Outcome.NOT_EXERCISED, Outcome.NOT_JUDGED


@given(sides(), st.sampled_from([TENTH, NONE_AT_ALL]))
def test_with_itself_nothing_is_worse_or_better(one: Side, tolerance: Tolerance) -> None:
    compared = compare(one, one, tolerance)
    assert {change.kind for change in compared.changes} <= {Kind.SAME, Kind.UNTOLD}
    judged = one.assertions and all(each.outcome in (M, B) for each in one.assertions)
    assert exit_code([compared]) == (0 if judged else 3)


@settings(max_examples=60)
@given(pairs())
def test_the_other_way_round_worse_is_better(pair: tuple[Side, Side]) -> None:
    """But what is broken and then not exercised is no better: it only was not seen to break."""
    there, back = compare(*pair, TENTH), compare(*reversed(pair), TENTH)
    for change, other in zip(there.changes, back.changes, strict=True):
        outcomes = {change.before.outcome, change.after.outcome}  # type: ignore[union-attr]
        if outcomes == {B, N}:
            assert {change.kind, other.kind} == {Kind.WORSE, Kind.UNTOLD}
        else:
            assert other.kind is MIRROR.get(change.kind, change.kind)


@settings(max_examples=40)
@given(pairs(), st.floats(1.2, 5.0), st.data())
def test_a_margin_that_shrank_is_found_wherever_it_stands(
    pair: tuple[Side, Side], factor: float, data: st.DataObject
) -> None:
    """By more than a tenth and more than can be told, among others that did not move."""
    ones = [replace(one, title=f"{one.title} {at}") for at, one in enumerate(pair[0].assertions)]
    measured = [at for at, one in enumerate(ones) if one.margin is not None]
    assume(measured)
    at = data.draw(st.sampled_from(measured))
    least = TENTH.allowed(ones[at].margin or 0.0, ones[at].unit, 250)
    now = list(ones)
    now[at] = replace(ones[at], margin=(ones[at].margin or 0.0) - factor * least / (1 - 0.1 * factor) - 0.001)
    compared = compare(side(*ones), side(*now), TENTH)
    assert [change.title for change in compared.changes if change.kind is Kind.WORSE] == [ones[at].title]
    assert exit_code([compared]) == 1


@settings(max_examples=25)
@given(st.lists(pairs(), min_size=2, max_size=4), st.randoms(use_true_random=False))
def test_order_does_not_matter(drawn: list[tuple[Side, Side]], chance: Random) -> None:
    old = [replace(pair[0], scenario=f"{at}.toml") for at, pair in enumerate(drawn)]
    new = [replace(pair[1], scenario=f"{at}.toml") for at, pair in enumerate(drawn[1:])]
    one = compare_all(old, new, TENTH)
    chance.shuffle(old)
    chance.shuffle(new)
    assert compare_all(old, new, TENTH) == one


@settings(max_examples=40)
@given(pairs(), st.randoms(use_true_random=False))
def test_nor_does_the_order_of_assertions(pair: tuple[Side, Side], chance: Random) -> None:
    before, after = (
        replace(one, assertions=tuple(replace(k, title=f"{i}") for i, k in enumerate(one.assertions)))
        for one in pair
    )
    mixed = list(after.assertions)
    chance.shuffle(mixed)
    other = compare(before, replace(after, assertions=tuple(mixed)), TENTH)
    assert set(other.changes) == set(compare(before, after, TENTH).changes)


@pytest.mark.parametrize(
    ("before", "after", "kind"),
    [
        (M, B, Kind.WORSE), (M, N, Kind.WORSE), (N, B, Kind.WORSE), (B, M, Kind.BETTER), (N, M, Kind.BETTER),
        (B, N, Kind.UNTOLD), (N, N, Kind.UNTOLD), (M, J, Kind.UNTOLD), (B, J, Kind.UNTOLD),
        (J, M, Kind.UNTOLD), (J, B, Kind.UNTOLD), (J, J, Kind.UNTOLD), (M, M, Kind.SAME), (B, B, Kind.SAME),
    ],
)  # fmt: skip
def test_each_change_of_outcome(before: Outcome, after: Outcome, kind: Kind) -> None:
    (change,) = compare(side(Kept("a", before)), side(Kept("a", after)), TENTH).changes
    assert change.kind is kind


@pytest.mark.parametrize(
    ("before", "after", "kind"),
    [
        (met(10.0), met(9.0), Kind.SAME),  # a tenth is allowed
        (met(10.0), met(8.9), Kind.WORSE),
        (met(10.0), met(11.2), Kind.BETTER),
        (met(0.5), met(0.25), Kind.SAME),  # one exchange
        (met(0.5), met(0.2), Kind.WORSE),
        (met(0.3, "degC"), met(0.2, "degC"), Kind.SAME),
        (met(0.3, "degC"), met(0.19, "degC"), Kind.WORSE),
        (met(2.0, "count"), met(1.0, "count"), Kind.WORSE),
        (met(None), met(0.1), Kind.SAME),  # what nothing numeric decided is as good as any
        (met(38.0, "kJ", value=12.0), met(35.0, "kJ", value=15.0), Kind.WORSE),  # a tenth of the figure
        (met(0.5, "K", value=9.5), met(0.3, "K", value=9.7), Kind.WORSE),  # a tenth of the margin
        (Kept("a", B, -1.0, "s"), Kept("a", B, -2.0, "s"), Kind.WORSE),
    ],
)
def test_margins_and_figures_by_hand(before: Kept, after: Kept, kind: Kind) -> None:
    after = replace(after, title=before.title)
    (change,) = compare(side(before), side(after), TENTH).changes
    assert change.kind is kind


def test_a_quantity_stands_in_place_of_the_share_for_its_kind() -> None:
    allowed = Tolerance(0.5, {dimension_of("K"): parse_quantity("2 K"), "time": parse_quantity("100 ms")})
    assert allowed.allowed(100.0, "degC", 250) == 2.0
    assert allowed.allowed(100.0, "s", 250) == pytest.approx(0.1)
    assert allowed.allowed(100.0, "W", 250) == 50.0


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"seed": 2}, "another seed: 1, now 2"),
        ({"plant": "kettle"}, "another plant: herms-gas, now kettle"),
        ({"setup": {"ambient": 12.0}}, "another plant set-up: ambient not set, now 12"),
        ({"script": "s2"}, "the scenario plays something else"),
        ({"pace": "wall"}, "another pace: lockstep, now wall"),
    ],
)
def test_what_was_played_otherwise_is_no_measure(change: dict[str, object], said: str) -> None:
    """Not even of a break: another rig may break what this one would not."""
    before, after = side(met(2.0)), side(Kept("gas shut", B, -1.0, "s"))
    compared = compare(before, replace(after, **change), TENTH)  # type: ignore[arg-type]
    assert len(compared.unlike) == 1
    assert compared.unlike[0].startswith(said)
    assert (compared.kind, exit_code([compared])) == (Kind.UNTOLD, 3)
    assert compared.changes[0].kind is Kind.WORSE


def test_a_run_that_was_cut_short_tells_nothing_but_its_breaks() -> None:
    gone = ("at 3.000 s: the device is gone",)
    cut = compare(side(met(2.0)), replace(side(met(2.0)), reasons=gone), TENTH)
    assert (cut.kind, cut.doubts) == (Kind.UNTOLD, (f"now inconclusive: {gone[0]}",))
    broken = replace(side(Kept("gas shut", B, -1.0, "s")), reasons=gone)
    assert compare(side(met(2.0)), broken, TENTH).kind is Kind.WORSE


@pytest.mark.parametrize("gone", ["before", "after"])
def test_what_is_missing_on_one_side_cannot_be_told(gone: str) -> None:
    whole, rest = [side(met(2.0)), side(met(1.0), scenario="b.toml")], [side(met(2.0))]
    compared = compare_all(*((rest, whole) if gone == "before" else (whole, rest)), TENTH)
    assert [one.kind for one in compared] == [Kind.SAME, Kind.UNTOLD]
    assert exit_code(compared) == 3


def test_an_assertion_that_is_gone_new_or_changed_cannot_be_told() -> None:
    two = side(met(2.0), Kept("never hot", M, 1.0, "K"))
    for before, after in ((two, side(met(2.0))), (side(met(2.0)), two)):
        assert [change.kind for change in compare(before, after, TENTH).changes] == [Kind.SAME, Kind.UNTOLD]
    (change,) = compare(side(met(2.0)), side(met(1.0, demand="d1")), TENTH).changes
    assert (change.kind, change.why) == (Kind.UNTOLD, "it is demanded otherwise than before")


def test_several_of_one_title_are_matched_in_their_order() -> None:
    compared = compare(side(met(2.0), met(9.0)), side(met(2.0), met(1.0)), TENTH)
    assert [change.kind for change in compared.changes] == [Kind.SAME, Kind.WORSE]


def test_nothing_compared_is_nothing_told() -> None:
    assert exit_code(compare_all([], [], TENTH)) == 3
    assert exit_code([compare(side(), side(), TENTH)]) == 3
