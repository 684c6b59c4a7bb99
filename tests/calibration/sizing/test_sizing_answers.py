"""Sizes that agree with each other and with the plants, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.calibration.sizing import coil, cycle, delay, heat, orifice
from harness.calibration.sizing.heat import Charge
from harness.calibration.sizing.row import DoesNotFitError, Row
from plants import ready_plants
from plants.media.gas import GASES, Gas, drill_mm, orifice_power_w
from plants.parts.coil import Helix

HELIX = Helix(1.0, 10.9, 12.7, 250.0, 390.0)
charges = st.builds(
    Charge,
    water=st.floats(5.0, 300.0),
    grain=st.floats(0.0, 50.0),
    metal=st.floats(0.0, 5e4),
    loss=st.floats(0.1, 40.0),
    room=st.floats(0.0, 30.0),
)


def value(rows: list[Row], what: str) -> float:
    return next(row.value for row in rows if row.what == what)


@given(charges, st.floats(0.1, 3.0), st.floats(40.0, 80.0))
def test_a_source_for_a_ramp_gives_that_ramp(charge: Charge, ramp: float, end: float) -> None:
    source = value(heat.for_ramp(charge, ramp / 60.0, 30.0, end, 0.5), "heat source")
    rows = heat.of_source(charge, source * 1000.0, 30.0, end, 0.5)
    assert value(rows, "ramp at the end") == pytest.approx(ramp)
    assert value(rows, "ramp at the start") >= ramp * 0.999


@given(charges, st.floats(2e3, 2e4))
def test_a_time_is_that_of_the_ramps_added_up(charge: Charge, power: float) -> None:
    """Euler's sum of small rises beside the closed form."""
    if charge.hottest(power) < 70.0:
        with pytest.raises(DoesNotFitError, match="want more than"):
            charge.seconds(power, 30.0, max(80.0, charge.hottest(power) + 1.0))
        return
    steps = 2_000
    rise = 30.0 / steps
    summed = sum(rise / charge.ramp(power, 30.0 + rise * (n + 0.5)) for n in range(steps))
    assert charge.seconds(power, 30.0, 60.0) == pytest.approx(summed, rel=1e-3)


@given(
    st.sampled_from(list(GASES.values())), st.floats(500.0, 60_000.0), st.floats(1.0, 5.0), st.integers(1, 8)
)
def test_the_drills_lie_around_what_is_wanted(gas: Gas, power: float, kpa: float, count: int) -> None:
    least, most = (count * orifice_power_w(drill_mm(number), kpa, gas) for number in (80, 1))
    if not least <= power <= most:
        with pytest.raises(DoesNotFitError, match="no number drill"):
            orifice.for_power(gas, power, kpa, count, 0.0)
        return
    rows = orifice.for_power(gas, power, kpa, count, 0.0)
    assert count * orifice_power_w(value(rows, "diameter"), kpa, gas) == pytest.approx(power)
    drills = [row.value * 1000.0 for row in rows if row.what.startswith("drill")]
    assert drills[0] <= power * 1.000001
    assert len(drills) == 1 or drills[1] >= power


def test_choked_flow_is_refused() -> None:
    with pytest.raises(DoesNotFitError, match="choked or nearly"):
        orifice.for_power(GASES["propane"], 9000.0, 80.0, 1, 0.0)


@given(st.floats(0.05, 1.2), st.floats(3.0, 20.0), st.floats(2.0, 15.0))
def test_more_flow_never_wants_a_longer_coil(ramp: float, offset: float, flow: float) -> None:
    try:
        here = value(coil.for_ramp(140e3, ramp / 60.0, offset, flow, HELIX), "length")
    except DoesNotFitError:
        return
    more = value(coil.for_ramp(140e3, ramp / 60.0, offset, 1.2 * flow, HELIX), "length")
    assert more <= here * 1.0001


def test_a_flow_that_carries_too_little_is_refused() -> None:
    with pytest.raises(DoesNotFitError, match=r"2 L/min carry .* kW at most over 5 K"):
        coil.for_ramp(140e3, 3.0 / 60.0, 5.0, 2.0, HELIX)


def test_cycles_between_wear_and_ripple() -> None:
    """Of the cycle between both bounds the ripple and the life are within what was asked."""
    rows = cycle.between(0.002, 0.1, 1e6, 8.0, 5.0)
    shortest, longest = value(rows, "shortest cycle"), value(rows, "longest cycle")
    assert shortest < longest
    middle = cycle.of((shortest + longest) / 2.0, 0.002, 0.5, 1e6, 8.0)
    assert value(middle, "ripple") <= 0.1
    assert value(middle, "life") >= 5.0
    assert value(cycle.between(0.02, 0.01, 1e5, 40.0, 10.0), "apart by") > 0.0


def test_the_ripple_is_that_of_the_plant() -> None:
    """A kettle under pulses of 60 s at half duty swings as the formula says, but for its element's lag."""
    setup = {"kettle_volume": 20.0, "kettle_loss": 0.0, "kettle_start": 30.0}
    kettle = ready_plants()["electric-kettle"](setup)
    at = [signal.name for signal in kettle.signals].index("kettle")
    temps = []
    for second in range(300):
        kettle.command([float(second % 60 < 30)])
        kettle.advance((second + 1) * 1000)
        temps.append(kettle.sample()[at])
    rise = temps[-1] - temps[-61]
    swing = [temp - rise * second / 60.0 for second, temp in enumerate(temps[-61:])]
    # Half duty: full heat rises twice as fast as the mean.
    expected = value(cycle.of(60.0, 2.0 * rise / 60.0, 0.5, 1e5, 8.0), "ripple")
    assert max(swing) - min(swing) == pytest.approx(expected, rel=0.15)


def test_the_dead_time_is_the_sum_of_its_parts() -> None:
    path = delay.Path(hose=2.0, bore=12.0, flow=6.0, probe=5.0, light=3.0, cycle=30.0, sampling=1.0)
    rows = delay.of(path, 0.0125)
    parts = ("water on its way", "probe", "valve and light", "cycle", "reading")
    assert value(rows, "dead time") == pytest.approx(sum(value(rows, what) for what in parts))
    # 2 m of 12 mm hold 0.2262 L, which 6 L/min renew in 2.26 s.
    assert value(rows, "water on its way") == pytest.approx(2.262, abs=1e-3)
    assert value(rows, "gain by SIMC") * value(rows, "proportional band") == pytest.approx(100.0)
