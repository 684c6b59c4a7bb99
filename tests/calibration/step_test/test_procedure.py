"""The procedure: its figures by default, its phases, and numbers that cannot be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.calibration.rig import RIGS, rig_for
from harness.calibration.step_test.heat_meter import HeatMeter
from harness.calibration.step_test.procedure import Procedure
from plants import ready_plants

MINUTE, HOUR = 60_000, 3_600_000


def test_the_phases_by_default() -> None:
    # Common practice, no source: settle 5 min, full heat 6 min, settle again, 6 s of each 30 s; 4 h at most.
    procedure = Procedure()
    assert procedure.phases(4 * HOUR) == [
        ("settle", 0), ("full heat", 5 * MINUTE), ("settle again", 11 * MINUTE), ("20 % duty", 16 * MINUTE),
    ]  # fmt: skip
    assert (procedure.pulse_ms, procedure.cycle_ms, procedure.longest_ms) == (6_000, 30_000, 4 * HOUR)


@given(
    t_ms=st.integers(0, 4 * HOUR), duty=st.sampled_from([0.1, 0.2, 0.5, 1.0]), cycle_s=st.integers(10, 120)
)
def test_heat_changes_only_where_it_is_foretold(t_ms: int, duty: float, cycle_s: int) -> None:
    procedure = Procedure(duty=duty, cycle_ms=1000 * cycle_s)
    edge = procedure.next_change_ms(t_ms)
    assert edge > t_ms
    wanted = procedure.wants_heat(t_ms)
    assert all(procedure.wants_heat(at) == wanted for at in range(t_ms, edge, max(1, (edge - t_ms) // 17)))


def test_the_small_duty_is_as_large_as_it_says() -> None:
    procedure = Procedure(duty=0.3, cycle_ms=20_000)
    begun = procedure.small_from_ms
    on = sum(procedure.wants_heat(at) for at in range(begun, begun + 200_000, 100))
    assert on == 600


@pytest.mark.parametrize(
    ("figures", "named"),
    [
        ({"duty": 0.0}, "duty"),
        ({"duty": 1.5}, "duty"),
        ({"settle_ms": -1}, "settle_ms"),
        ({"every_ms": 0}, "every_ms"),
        ({"every_ms": 60_000}, "every_ms"),
        ({"precision": 0.0}, "precision"),
        ({"longest_ms": 600_000}, "first three phases last 16 min"),
    ],
)
def test_numbers_that_cannot_be_are_named(figures: dict[str, float], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        Procedure(**figures)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", RIGS)
def test_each_ready_plant_has_a_rig_of_its_own_names(name: str) -> None:
    assert rig_for(name, ready_plants()[name]) == RIGS[name]


def test_every_ready_plant_has_a_rig() -> None:
    assert set(RIGS) == set(ready_plants())


def test_wrong_names_of_a_rig_are_told_with_the_right_one() -> None:
    kind = ready_plants()["herms-gas"]
    with pytest.raises(ValueError, match=r"no actuator gas_vlave\. Did you mean gas_valve"):
        rig_for("herms-gas", kind, heat="gas_vlave")
    with pytest.raises(ValueError, match="no probe in mdegC flame"):
        rig_for("herms-gas", kind, probe="flame")
    with pytest.raises(ValueError, match="say what heats and which probe"):
        rig_for("my_urn.py", kind)


def test_the_meter_counts_heat_from_its_own_millisecond() -> None:
    meter = HeatMeter()
    meter.row(0)
    meter.change(400, 1.0)
    meter.row(1000)
    meter.change(1750, 0.0)
    meter.row(2000)
    assert meter.shares().tolist() == [0.6, 0.75, 0.0]
