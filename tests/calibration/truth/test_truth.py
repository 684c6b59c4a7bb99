"""A plant's truth: the linear plant follows the real one; the reduced one follows the linear one."""

from __future__ import annotations

import numpy as np
import pytest

from harness.calibration.record import HeatRecord
from harness.calibration.rig import RIGS, Rig
from harness.calibration.truth.of_plant import linear_record, reduced, truth_at
from harness.calibration.truth.small_signal import small_signal
from plants import Plant, ready_plants

QUIET: dict[str, float | str] = {"probe_noise": 0.0, "probe_resolution": 0.001}
#: Nothing evaporates: what is left of these plants is nearly linear.
CLOSED = {
    "herms-gas": ("liquor_open", "mash_open"),
    "direct-fired-mash": ("mash_open",),
    "electric-kettle": ("kettle_open",),
}


def settled(name: str) -> Plant:
    plant = ready_plants()[name]({**QUIET, **dict.fromkeys(CLOSED[name], 0.0)})
    names = [actuator.name for actuator in plant.actuators]
    plant.command([float(one in RIGS[name].always) for one in names])
    plant.advance(300_000)
    return plant


def full_heat(plant: Plant, rig: Rig, seconds: int) -> tuple[np.ndarray, np.ndarray]:
    """Heat and rise once a second, with heat full on."""
    names = [actuator.name for actuator in plant.actuators]
    seen = [signal.name for signal in plant.signals].index(rig.seen)
    read = plant.reader([(rig.probe, "mdegC")])
    (start,) = read()
    on = {rig.heat, *rig.with_heat, *rig.always}
    plant.command([float(one in on) for one in names])
    begun, heat, rise = plant.time_ms, [], []
    for second in range(seconds):
        heat.append(plant.sample()[seen])
        rise.append((read()[0] - start) / 1000.0)  # type: ignore[operator]
        plant.advance(begun + 1000 * (second + 1))
    return np.array(heat), np.array(rise)


@pytest.mark.parametrize("name", CLOSED)
def test_the_linear_plant_follows_the_real_one(name: str) -> None:
    plant, rig = settled(name), RIGS[name]
    model = small_signal(plant, rig)
    heat, rise = full_heat(plant, rig, 300)
    # The flame signal is 0.3 s late and seen by the second: up to 1 s of the steepest rise.
    followed = model.response(heat, 1.0)
    assert np.abs(followed - rise).max() < 1.2 * np.diff(rise).max() + 0.002


@pytest.mark.parametrize("name", CLOSED)
def test_the_final_gain_is_full_heat_over_all_losses(name: str) -> None:
    plant = settled(name)
    model = small_signal(plant, RIGS[name])
    long = model.response(np.ones(400), 2000.0)
    assert long[-1] == pytest.approx(model.gain, rel=1e-3)


def test_looking_at_the_truth_leaves_the_plant_as_it_was() -> None:
    plant = settled("herms-gas")
    before = plant.sample(), plant.time_ms, plant.save()
    time_s = np.arange(0.0, 3000.0, 5.0)
    truth_at(plant, RIGS["herms-gas"], HeatRecord(time_s, (time_s > 300.0) * 0.2, time_s))
    assert (plant.sample(), plant.time_ms) == before[:2]
    twin = settled("herms-gas")
    plant.advance(400_000)
    twin.advance(400_000)
    assert plant.sample() == twin.sample()


def test_half_rule_and_least_squares_tell_of_one_plant() -> None:
    plant, rig = settled("herms-gas"), RIGS["herms-gas"]
    time_s = np.arange(0.0, 14_400.0, 2.0)
    heat = np.where(time_s > 960.0, 0.2, ((time_s >= 300.0) & (time_s < 660.0)).astype(float))
    truth = truth_at(plant, rig, HeatRecord(time_s, heat, time_s))
    assert truth.half_rule is not None
    assert truth.least_squares is not None
    for name in ("gain", "time_constant_s", "dead_time_s"):
        ours, theirs = getattr(truth.half_rule, name), getattr(truth.least_squares, name)
        assert ours == pytest.approx(theirs, rel=0.1), name
    # 55 L, 30 L and 8 kg of malt, 9 kW at 60 %: a slow rise of 5400 W over about 405 kJ/K.
    assert truth.half_rule.slope == pytest.approx(5400.0 / 405e3, rel=0.05)


def test_the_reduction_follows_the_linear_plant() -> None:
    model = small_signal(settled("herms-gas"), RIGS["herms-gas"])
    process = reduced(model)
    assert process is not None
    time_s = np.arange(0.0, 20_000.0, 10.0)
    record = linear_record(model, HeatRecord(time_s, np.ones_like(time_s), time_s))
    apart = np.abs(record.temperature - process.step_response(time_s))
    assert apart.max() < 0.01 * model.gain


def test_a_compressor_s_truth_is_refused() -> None:
    plant = ready_plants()["fermentation-chamber"]()
    with pytest.raises(ValueError, match="changes no source of heat"):
        small_signal(plant, Rig("cooler", "chamber"))
