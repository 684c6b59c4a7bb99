"""The whole procedure, on a plant and through the controllers' manual mode."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from harness.calibration.fitting.log import read_log
from harness.calibration.relay_test.on_plant import relay_test
from harness.calibration.relay_test.plan import RelayTest
from harness.calibration.rig import RIGS
from harness.calibration.step_test.as_json import relay_test_data, step_test_data
from harness.calibration.step_test.on_plant import StepTest, first_order_of, step_test
from harness.calibration.step_test.procedure import Procedure
from harness.calibration.step_test.table import write_table
from harness.calibration.step_test.through_device import Hand, device_test
from harness.errors import FileMistakesError
from harness.logbook import Logbook
from plants import ready_plants
from tests.firmware import Firmware
from tests.whole.rehearsal import MEDDLER

#: A small rig that loses much: told in an hour.
SMALL = {"liquor_volume": 12.0, "mash_volume": 8.0, "grain": 2.0, "liquor_loss": 60.0, "burner_power": 3.0}
SMALL_LINES = ['liquor_volume = "12 L"', 'mash_volume = "8 L"', 'grain = "2 kg"', 'liquor_loss = "60 W/K"',
               'burner_power = "3 kW"']  # fmt: skip
BRIEF = Procedure(shortest_small_ms=2_400_000)
HERMS = ready_plants()["herms-gas"]


@pytest.fixture(scope="module")
def direct() -> StepTest:
    return step_test(HERMS, RIGS["herms-gas"], BRIEF, setup=SMALL, with_truth=True)


def test_a_plant_s_test_is_judged_by_its_truth(direct: StepTest) -> None:
    assert direct.complete
    assert direct.truth is not None
    assert direct.truth.least_squares is not None
    assert direct.told is not None
    assert direct.told.first_order is not None
    for name, (value, interval) in direct.told.first_order.figures().items():
        assert value == pytest.approx(getattr(direct.truth.least_squares, name), rel=0.03), name
        assert interval is not None
        assert interval.low < value < interval.high, name


def test_the_methods_stand_side_by_side(direct: StepTest) -> None:
    assert [one.name for one in direct.methods] == ["least squares", "tangent", "two-point", "area"]
    truth = direct.truth.half_rule if direct.truth else None
    assert truth is not None
    for one in direct.methods:
        assert one.process is not None, one.note
        assert one.process.time_constant_s == pytest.approx(truth.time_constant_s, rel=0.15)  # type: ignore[union-attr]


def test_a_pulse_gives_less_heat_than_its_command(direct: StepTest) -> None:
    # 6 s of command; 0.3 s of valve travel and 1.2 s to light, 0.3 s until it is shut.
    assert direct.pulse_heat_s == pytest.approx(4.8, abs=0.01)


@pytest.mark.parametrize("kind", ["lib", "builtin"])
def test_through_a_controller_the_same_is_found(
    direct: StepTest, kind: str, reference: Callable[..., Firmware], tmp_path: Path
) -> None:
    link = "builtin" if kind == "builtin" else reference().links[kind]
    book = Logbook(tmp_path / "logbook.db")
    test, run = device_test(
        HERMS, RIGS["herms-gas"], BRIEF, Hand(), link, book, setup_lines=SMALL_LINES, with_truth=True
    )
    assert test.complete, test.notes
    found, other = first_order_of(test), first_order_of(direct)
    assert found is not None
    assert other is not None
    assert found.gain == pytest.approx(other.gain, rel=0.02)
    assert found.time_constant_s == pytest.approx(other.time_constant_s, rel=0.02)
    assert found.dead_time_s == pytest.approx(other.dead_time_s, abs=1.5)
    record = book.read(run.run_id)
    assert record.summary.status == "pass"
    assert record.summary.meta.title == "Step test of herms-gas"
    assert run.length_ms < BRIEF.longest_ms


def test_a_device_that_gives_no_heat_is_never_a_result(
    reference: Callable[..., Firmware], tmp_path: Path
) -> None:
    hand = Hand({role: role for role in ("mode", "manual", "manual_duty", "cycle_time")})  # nobody starts it
    brief = Procedure(longest_ms=1_800_000, shortest_small_ms=0)
    book = Logbook(tmp_path / "logbook.db")
    link = reference().links["lib"]
    test, run = device_test(HERMS, RIGS["herms-gas"], brief, hand, link, book)
    assert not test.complete
    assert test.told is None
    assert run.status == "fail"
    assert any("full heat comes when it is asked for: broken" in note for note in test.notes)
    assert any("heat never changes" in note for note in test.notes)


def test_a_device_that_dies_is_told_without_a_result(tmp_path: Path) -> None:
    book = Logbook(tmp_path / "logbook.db")
    link = f"run:{sys.executable} {MEDDLER} exits"
    test, run = device_test(HERMS, RIGS["herms-gas"], BRIEF, Hand(), link, book, with_truth=True)
    assert run.status == "inconclusive"
    assert not test.complete
    assert test.told is None
    assert test.ended.startswith("at 4.")
    assert any(note.startswith("the run is inconclusive: at 4.") for note in test.notes)


def test_a_panel_without_the_named_input_is_refused(
    reference: Callable[..., Firmware], tmp_path: Path
) -> None:
    hand = Hand({"manual_duty": "duty_by_hand"})
    with pytest.raises(FileMistakesError, match="duty_by_hand"):
        device_test(
            HERMS, RIGS["herms-gas"], BRIEF, hand, reference().links["lib"], Logbook(tmp_path / "logbook.db")
        )


def test_too_hot_ends_the_test_without_heat() -> None:
    kettle = ready_plants()["electric-kettle"]
    hot = Procedure(limit=27.0)
    test = step_test(kettle, RIGS["electric-kettle"], hot, setup={})
    assert not test.complete
    assert "27 degC" in test.ended
    assert np.nanmax(test.record.temperature) < 28.0


def test_the_relay_test_agrees_with_least_squares() -> None:
    test = relay_test(
        HERMS, RIGS["herms-gas"], RelayTest(rise=3.0, hysteresis=0.3),
        setup={**SMALL, "light_up_delay": 0.0}, every_ms=1000, longest_ms=4 * 3_600_000,
    )  # fmt: skip
    assert test.complete
    assert test.cycle is not None
    assert test.told is not None
    assert test.told.first_order is not None
    process = test.told.first_order.process
    assert test.cycle.set_point == pytest.approx(3.0, abs=0.1)
    assert process.slope == pytest.approx(0.0157, rel=0.05)
    assert relay_test_data(test)["cycle"]["period_s"] == test.cycle.period_s


def test_the_record_travels_as_a_table(direct: StepTest, tmp_path: Path) -> None:
    path = tmp_path / "record.csv"
    write_table(path, direct.record)
    assert path.read_text().splitlines()[0] == "time [s],heat_seen [%],coil_outlet [degC]"
    back = read_log(str(path))
    assert back.time_s == pytest.approx(direct.record.time_s)
    assert back.heat == pytest.approx(direct.record.heat, abs=1e-6)
    assert back.columns["coil_outlet"] == pytest.approx(direct.record.temperature, abs=1e-4)


def test_the_result_is_plain_json(direct: StepTest) -> None:
    data = json.loads(json.dumps(step_test_data(direct), allow_nan=False))
    assert data["complete"] is True
    assert set(data["first_order"]) == {"gain", "dead_time_s", "time_constant_s"}
    assert data["first_order"]["gain"]["low"] < data["first_order"]["gain"]["value"]
    assert data["truth"]["least_squares"]["kind"] == "first order"
