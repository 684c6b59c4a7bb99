"""Sides drawn by hypothesis and by hand: what a run leaves to be compared."""

from __future__ import annotations

from hypothesis import strategies as st

from harness.assertions.verdict import Outcome
from harness.report.comparison.side import Kept, Side

UNITS = ("s", "degC", "K", "%", "W", "count", "K/min", "")
NUMBERS = st.floats(0.001, 1e6).map(lambda x: float(f"{x:.9g}")) | st.just(0.0)


def status(assertions: tuple[Kept, ...]) -> str:
    outcomes = {one.outcome for one in assertions}
    return "fail" if Outcome.BROKEN in outcomes else "pass" if outcomes == {Outcome.MET} else "inconclusive"


@st.composite
def kept(draw: st.DrawFn, title: str = "a", outcome: Outcome | None = None) -> Kept:
    outcome = outcome or draw(st.sampled_from(Outcome))
    sign = {Outcome.MET: 1.0, Outcome.BROKEN: -1.0}.get(outcome)
    margin = None if sign is None else draw(st.none() | NUMBERS.map(lambda size: sign * size))
    figure = draw(st.none() | st.sampled_from(["overshoot(liquor, 66 degC)", "flame"]))
    value = None if margin is None or figure is None else draw(NUMBERS)
    return Kept(title, outcome, margin, draw(st.sampled_from(UNITS)), figure, value, "d0")


@st.composite
def sides(draw: st.DrawFn, scenario: str = "a.toml") -> Side:
    titles = draw(st.lists(st.sampled_from(["gas shut", 'said "no"', "never hot", "é \\ ü"]), max_size=5))
    assertions = tuple(draw(kept(title)) for title in titles)
    return Side(
        scenario=scenario, title="A run", status=status(assertions), plant="herms-gas",  # type: ignore[arg-type]
        setup=draw(st.dictionaries(st.sampled_from(["ambient", "mash_volume"]), NUMBERS)),
        seed=draw(st.integers(0, 2)), script=draw(st.sampled_from(["s1", "s2"])), signals="f00d",
        assertions=assertions,
    )  # fmt: skip


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Side, Side]:
    """The same scenario twice, all in it comparable, but the outcomes are as they come."""
    titles = draw(st.lists(st.sampled_from(["gas shut", "never hot", "lights"]), min_size=1, max_size=4))
    made = []
    units = [draw(st.sampled_from(UNITS)) for _ in titles]
    for _ in range(2):
        ones = [draw(kept(title)) for title in titles]
        assertions = tuple(
            Kept(one.title, one.outcome, one.margin, unit, one.figure, one.value, one.demand)
            for one, unit in zip(ones, units, strict=True)
        )
        made.append(side(*assertions))
    return made[0], made[1]


def side(*assertions: Kept, scenario: str = "a.toml", exchange_ms: int = 250) -> Side:
    return Side(
        scenario=scenario, title="A run", status=status(assertions), plant="herms-gas", seed=1, script="s1",  # type: ignore[arg-type]
        exchange_ms=exchange_ms, assertions=assertions,
    )  # fmt: skip


def met(margin: float | None, unit: str = "s", **more: object) -> Kept:
    return Kept("gas shut", Outcome.MET, margin, unit, **more)  # type: ignore[arg-type]
