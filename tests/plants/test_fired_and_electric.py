"""The mash over a burner and the electric kettle: balances, cutting of time, keeping, a tight solver."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plants import ready_plants
from tests.plants.delay_oracle import worst_error
from tests.plants.small_plants import signals
from tests.plants.strategies import calm, play, schedules, setups
from tests.plants.test_plants_time import in_pieces, same

MASH, KETTLE = ready_plants()["direct-fired-mash"], ready_plants()["electric-kettle"]
KINDS = [MASH, KETTLE]
MILD = {
    "ambient", "mash_volume", "mash_start", "flow", "grain", "burner_power", "base_exchange", "bed_exchange",
    "kettle_volume", "kettle_start", "element_power", "layer_below", "layer_mixing",
}  # fmt: skip
WARMING = ("cold-water-added", "ambient-change", "grain-added", "lid-off")
SMALL = 1e-4
"""Difference allowed between ways of cutting time [K, L, %]."""


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=30)
@given(data=st.data())
def test_the_balances_close(kind, data):
    setup = data.draw(setups(kind))
    plant = play(kind(setup), data.draw(schedules(kind=kind)))
    books = plant.balance()
    assert books.heat_error < 1e-9
    assert books.water_error < 1e-9
    assert books.gas_drift_kg < 1e-12
    assert all(math.isfinite(value) for value in plant.sample())


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=15)
@given(data=st.data())
def test_unheated_nothing_leaves_the_hull_of_its_surroundings(kind, data):
    """Closed lid, so that nothing cools by evaporation; nothing of another temperature added."""
    name = "mash" if kind is MASH else "kettle"
    setup = data.draw(setups(kind, names=MILD))
    plant = kind({**setup, f"{name}_open": 0.0})
    ends = [plant.setup[f"{name}_start"], plant.setup["ambient"]]
    wanted = [one.name for one in kind.signals if one.unit == "degC"]
    faults = (*WARMING, "relay-welded-on")

    def watch(plant, until_ms):
        plant.advance(until_ms)
        values = signals(plant)
        assert all(min(ends) - 1e-6 <= values[one] <= max(ends) + 1e-6 for one in wanted)

    schedule = data.draw(schedules(kind=kind, leave_out=faults))
    play(plant, [(wait, (0, *one[1:]), fault, last) for wait, one, fault, last in schedule], watch)


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=12)
@given(data=st.data())
def test_halving_and_random_pieces_end_at_the_same(kind, data):
    setup, length_ms = data.draw(calm(kind, MILD)), data.draw(st.sampled_from([100, 250, 333]))
    schedule = data.draw(schedules(4, 30_000, kind))
    chance = data.draw(st.randoms(use_true_random=False))

    def at_random(plant, until_ms):
        while plant.time_ms < until_ms:
            plant.advance(min(until_ms, plant.time_ms + chance.randint(1, 700)))

    whole = play(kind(setup), schedule)
    for way in (in_pieces(length_ms), in_pieces(length_ms // 2), at_random):
        same(whole, play(kind(setup), schedule, way), SMALL)


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=15)
@given(data=st.data())
def test_save_and_restore_are_exact_and_reading_changes_nothing(kind, data):
    setup = data.draw(setups(kind))
    before, after = (data.draw(schedules(4, 30_000, kind)) for _ in range(2))
    plant = play(kind(setup, seed=3), before)
    saved = plant.save()
    read = plant.reader([(probe.name, probe.units[0]) for probe in plant.probes])
    first = (play(plant, after).sample(), read(), read())
    plant.restore(saved)
    again = (play(plant, after).sample(), read(), read())
    other = kind(setup, seed=3)
    other.restore(saved)
    assert repr(first) == repr(again)
    assert repr(play(other, after).sample()) == repr(first[0])


HEATING = [(1000, [1, 1, 1]), (30_000, [0, 0, 1]), (45_000, [1, 1, 1]), (80_000, [0, 0, 0])]


@pytest.mark.parametrize(
    ("kind", "setup"),
    [
        (MASH, {"mash_start": 60.0}),
        (MASH, {"mash_start": 93.5, "altitude": 1600.0, "flow": 12.0}),
        (KETTLE, {"kettle_start": 60.0}),
        (KETTLE, {"kettle_start": 94.5, "altitude": 1600.0, "kettle_open": 100.0, "element_power": 9.0}),
        (KETTLE, {"kettle_volume": 6.9, "kettle_start": 40.0, "sheath_limit": 1200.0}),
    ],
)
def test_agrees_with_a_tight_solver(kind, setup):
    """DOP853 of scipy at 1e-10 with exact delays; the last kettle leaves its element half bare."""
    schedule = [(time, command[: len(kind.actuators)]) for time, command in HEATING]
    assert worst_error(lambda: kind(setup), schedule, 100_000) < 1e-4


@pytest.mark.parametrize("fault", ["cold-water-added", "grain-added", "lid-off", "draught", "ambient-change"])
def test_disturbed_it_agrees_with_a_tight_solver(fault):
    """The events are those of a scout; the fault begins at once."""

    def make():
        plant = MASH({"mash_start": 66.0})
        plant.begin_fault(fault, "mash" if fault in ("cold-water-added", "lid-off") else None, {})
        return plant

    assert worst_error(make, HEATING, 60_000) < 1e-4
