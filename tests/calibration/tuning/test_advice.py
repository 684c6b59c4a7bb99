"""The advice: what is refused, what is taken, and that it holds on processes drawn at random."""

from __future__ import annotations

import re
from math import inf, isinf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harness.calibration.process import FirstOrder, Integrating, Process
from harness.calibration.tuning.advice import MOST_JUMP, MOST_SENSITIVE, advise, jump_of
from harness.calibration.tuning.loop import step_figures
from harness.calibration.tuning.margins import margins
from harness.calibration.tuning.rules import RULES, RuleDoesNotHoldError
from harness.calibration.tuning.settings import Settings

gains = st.floats(5.0, 200.0).flatmap(lambda gain: st.sampled_from([gain, -gain]))
lags = st.builds(FirstOrder, gains, st.floats(1.0, 600.0), st.floats(10.0, 20_000.0))
drifts = st.builds(Integrating, gains.map(lambda gain: gain / 3000.0), st.floats(1.0, 600.0))


@settings(max_examples=20)
@given(st.one_of(lags, drifts))
def test_what_is_advised_bears_its_margins_and_settles(process: Process) -> None:
    advice = advise(process)
    if advice.best is None:
        assert all(one.refused for one in advice.candidates)
        return
    chosen = advice.best.settings
    assert chosen is not None
    assert chosen.gain * getattr(process, "gain", getattr(process, "slope", 0.0)) > 0.0
    bears = margins(process, chosen)
    assert bears.stable
    assert bears.sensitivity <= MOST_SENSITIVE
    # Astrom and Hagglund: Ms bounds the gain margin from below.
    assert bears.gain >= bears.sensitivity / (bears.sensitivity - 1.0) - 1e-3
    assert jump_of(chosen, 0.0625, 30.0) <= MOST_JUMP
    assert not isinf(step_figures(process, chosen).iae)


@settings(max_examples=15)
@given(lags, st.floats(0.1, 10.0))
def test_time_scales_with_the_process(process: FirstOrder, factor: float) -> None:
    """A process slower by a factor wants times longer by it and the same gain."""
    slower = FirstOrder(process.gain, process.dead_time_s * factor, process.time_constant_s * factor)
    for rule in RULES.values():
        try:
            here = rule.settings(process)
        except RuleDoesNotHoldError:
            with pytest.raises(RuleDoesNotHoldError):
                rule.settings(slower)
            continue
        there = rule.settings(slower)
        assert there.gain == pytest.approx(here.gain)
        assert there.integral_s == pytest.approx(factor * here.integral_s)
        assert there.derivative_s == pytest.approx(factor * here.derivative_s)


def test_a_very_slow_process_is_tuned_as_an_integrating_one() -> None:
    drift, slow = Integrating(0.0125, 60.0), FirstOrder(12_500.0, 60.0, 1e6)
    for name, rule in RULES.items():
        if name.startswith("chr-setpoint"):
            with pytest.raises(RuleDoesNotHoldError, match="time constant"):
                rule.settings(drift)
            continue
        here, there = rule.settings(drift), rule.settings(slow)
        assert there.gain == pytest.approx(here.gain, rel=1e-3)
        assert there.integral_s == pytest.approx(here.integral_s, rel=2e-3)


def test_outside_its_range_a_rule_is_refused_with_the_figure() -> None:
    advice = advise(FirstOrder(40.0, 600.0, 300.0))
    refused = {one.rule: one.refused for one in advice.candidates}
    said = refused["zn-step-pi"]
    assert said is not None
    assert said.why == "dead time / time constant is 2.00; it is used up to 1 (common practice, no source)"
    assert not refused["simc-pi"]
    assert advice.best is not None


def test_without_dead_time_nothing_is_advised() -> None:
    advice = advise(FirstOrder(40.0, 0.0, 300.0))
    assert advice.best is None
    why = {one.refused.why for one in advice.candidates if one.refused}
    assert why == {"without dead time the rule asks for an infinite gain"}


def test_a_coarse_probe_forbids_a_high_gain() -> None:
    quick = FirstOrder(50.0, 2.0, 400.0)
    assert advise(quick, resolution=0.0).best is not None
    coarse = advise(quick, resolution=1.0)
    assert coarse.best is None
    assert any(one.refused and "one step of the probe" in one.refused.why for one in coarse.candidates)


def test_where_the_probe_is_too_coarse_the_advice_says_which_would_do() -> None:
    quick = FirstOrder(50.0, 2.0, 400.0)
    coarse = advise(quick, resolution=1.0)
    said = re.search(r"a probe that steps by ([\d.]+) K or less (\S+) can be taken", coarse.reason)
    assert said is not None
    assert advise(quick, resolution=0.99 * float(said[1]), rules=[said[2]]).best is not None
    assert advise(quick, resolution=1.1 * float(said[1]), rules=[said[2]]).best is None


def test_a_loop_that_swings_up_is_seen() -> None:
    process, wild = FirstOrder(2.0, 20.0, 100.0), Settings(8.0, 30.0)
    assert not margins(process, wild).stable
    assert step_figures(process, wild).iae == inf
    edge = Settings(4.25121 * 0.98, 1e9)
    assert margins(process, edge).stable
    assert margins(process, edge).gain == pytest.approx(1.0 / 0.98, rel=1e-3)


def test_a_huge_gain_does_not_make_a_calm_loop_swing() -> None:
    calm, huge = FirstOrder(40.0, 60.0, 600.0), FirstOrder(4e10, 60.0, 600.0)
    for name in ("simc-pi", "amigo-pid"):
        here, there = (step_figures(one, RULES[name].settings(one)) for one in (calm, huge))
        assert there.overshoot == pytest.approx(here.overshoot)
        assert there.load_iae == pytest.approx(1e9 * here.load_iae)


@pytest.mark.parametrize(("jump", "said"), [(0.1002, "10.02 %"), (0.112, "11 %"), (160.0, "over 1000 %")])
def test_what_is_over_a_bound_is_shown_over_it(jump: float, said: str) -> None:
    process = FirstOrder(40.0, 60.0, 600.0)
    resolution = jump / RULES["simc-pi"].settings(process).gain
    (one,) = advise(process, resolution=resolution, cycle_s=0.0, rules=["simc-pi"]).candidates
    assert one.refused is not None
    assert one.refused.figure == said
