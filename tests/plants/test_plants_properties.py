"""What holds for every ready plant, whatever its set-up, the commands and what goes wrong.

The books close; heat goes downhill; nothing leaves the hull of its surroundings without a cause; the result
does not depend on how time is cut; looking changes nothing; a saved plant goes on exactly.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plants import ready_plants
from tests.plants.entropy import entropy, profile
from tests.plants.small_plants import signals
from tests.plants.strategies import calm, in_pieces, play, schedules, setups

HERMS, MASH, KETTLE, CHAMBER, KILN = KINDS = list(ready_plants().values())
EACH = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)

LIDS = {"liquor_open": 0.0, "mash_open": 0.0, "kettle_open": 0.0}
QUIET = {**LIDS, "sugar": 0.0}
"""Closed lids, so that nothing cools by evaporation, and no yeast."""

STARTS = {
    "liquor_start", "mash_start", "kettle_start", "beer_start", "chamber_start", "kiln_start", "ambient",
}  # fmt: skip
CAUSES = ("ambient-change", "cold-water-added", "grain-added", "lid-off", "relay-welded-on")
"""Faults that heat or cool on their own account."""

# Where time is cut. No altitude: a start above the boiling point flashes within seconds, where a cut costs
# up to 2e-4 K. Nor the surface, mass and power of a kiln's coils: those that warm by 20 K/s are known to
# 3e-3 K only.
MILD = STARTS | {
    "liquor_volume", "mash_volume", "grain", "flow", "burner_power", "base_exchange", "bed_exchange",
    "kettle_volume", "element_power", "layer_below", "layer_mixing", "beer_volume", "cooling_power",
    "compressor_rest", "sugar", "ware", "brick", "emissivity",
} - {"chamber_start"}  # fmt: skip
COILS = {"element_power"}


def named(kind, setup):
    """The part of a set-up that a kind knows."""
    known = {one.name for one in kind.parameters}
    return {name: value for name, value in setup.items() if name in known}


def idle(kind, schedule):
    """The same schedule with everything off that heats or cools."""
    off = {"gas_valve", "igniter", "relay", "element", "cooler", "heater"}
    keep = [one.name not in off for one in kind.actuators]
    return [
        (wait, tuple(value * kept for value, kept in zip(values, keep, strict=True)), fault, ends)
        for wait, values, fault, ends in schedule
    ]


@EACH
@settings(max_examples=25)
@given(data=st.data())
def test_heat_water_and_gas_balance_close(kind, data):
    plant = play(kind(data.draw(setups(kind))), data.draw(schedules(kind=kind)))
    books = plant.balance()
    assert books.heat_error < 1e-9
    assert books.water_error < 1e-9
    assert books.gas_drift_kg < 1e-12
    assert all(math.isfinite(value) for value in plant.sample())


@EACH
@settings(max_examples=20)
@given(data=st.data())
def test_no_heat_goes_uphill(kind, data):
    """The entropy of plant and room never falls, heated or not; the compressor, which pumps, is left off.

    What is poured in or runs off takes its own along, and so does vapour: those are left out.
    """
    setup = data.draw(setups(kind, STARTS | {"flow", "coil_ua", "grain", "ware", "emissivity"}))
    plant = kind({**named(kind, QUIET), **setup})
    rows = data.draw(schedules(6, 60_000, kind, (*CAUSES[:-1], "vessel-runs-low")))
    if kind is CHAMBER:
        rows = [(wait, (0, warm), fault, ends) for wait, (_, warm), fault, ends in rows]
        rows = [row for row in rows if not (row[2] and row[2][1] == "cooler")]
    before = entropy(plant)

    def watch(plant, until_ms):
        nonlocal before
        while plant.time_ms < until_ms:
            plant.advance(min(until_ms, plant.time_ms + 2000))
            now = entropy(plant)
            assert now > before - 1e-3 or plant.balance().evaporated_kg
            before = now

    play(plant, rows, watch)


@pytest.mark.parametrize("kind", [HERMS, MASH], ids=lambda kind: kind.name)
@settings(max_examples=15)
@given(data=st.data())
def test_what_a_pipe_holds_is_what_has_entered_it(kind, data):
    """The heat in the books against plug flow parcel by parcel, as a temperature of the whole content.

    Steps of 250 ms, and pipes that are passed in less than half a second.
    """
    setup = data.draw(setups(kind, STARTS | {"flow", "hose_volume", "pipe_to_tun"}))
    plant = play(kind(setup), data.draw(schedules(6, 60_000, kind)))
    for pipe in plant._net.delays:
        held = sum(part * (kelvin - 273.15) for part, kelvin in profile(plant, pipe))
        assert plant._net.x(pipe.content.heat) == pytest.approx(held, abs=5e-3 * pipe._capacity)


@EACH
@settings(max_examples=25)
@given(data=st.data())
def test_without_a_source_nothing_leaves_the_hull_of_its_surroundings(kind, data):
    """Nothing of another temperature is added, and nothing is heated or cooled."""
    setup = data.draw(setups(kind, STARTS | {"flow", "coil_ua", "grain", "liquor_volume", "layer_mixing"}))
    plant = kind({**named(kind, QUIET), **setup})
    ends = [plant.setup[name] for name in STARTS if name in plant.setup]
    wanted = [one.name for one in kind.signals if one.unit == "degC"]

    def watch(plant, until_ms):
        plant.advance(until_ms)
        values = signals(plant)
        assert all(min(ends) - 1e-6 <= values[one] <= max(ends) + 1e-6 for one in wanted)

    play(plant, idle(kind, data.draw(schedules(kind=kind, leave_out=CAUSES))), watch)


def same(one, other):
    """All signals agree within 1e-4 (K, L, %), those in J within 0.1: a steep front at a pipe's end most."""
    for signal, a, b in zip(one.signals, one.sample(), other.sample(), strict=True):
        scale = 1000.0 if signal.unit == "J" else 1.0
        assert a == pytest.approx(b, abs=1e-4 * scale, rel=1e-7), signal.name


@EACH
@settings(max_examples=12)
@given(data=st.data(), length_ms=st.sampled_from([100, 125, 250, 333, 1000]))
def test_halving_the_exchange_interval_changes_nothing(kind, data, length_ms):
    setup = data.draw(calm(kind, MILD - COILS if kind is KILN else MILD))
    schedule = data.draw(schedules(4, 30_000, kind))
    whole = play(kind(setup), schedule, in_pieces(lambda: length_ms))
    same(whole, play(kind(setup), schedule, in_pieces(lambda: length_ms // 2)))


@EACH
@settings(max_examples=12)
@given(data=st.data(), chance=st.randoms(use_true_random=False))
def test_random_pieces_end_where_the_whole_step_ends(kind, data, chance):
    setup = data.draw(calm(kind, MILD - COILS if kind is KILN else MILD))
    schedule = data.draw(schedules(4, 20_000, kind))
    cut = play(kind(setup), schedule, in_pieces(lambda: chance.randint(1, 700)))
    same(play(kind(setup), schedule), cut)


def readings(plant):
    """Every probe in every unit."""
    return plant.reader([(probe.name, unit) for probe in plant.probes for unit in probe.units])()


def looking_around(plant, until_ms):
    """Advance in pieces of 10 s, with everything looked at in between."""
    while plant.time_ms < until_ms:
        assert readings(plant) == readings(plant)
        plant.sample()
        plant.balance()
        plant.advance(min(until_ms, plant.time_ms + 10_000))


@EACH
@settings(max_examples=8)
@given(data=st.data())
def test_saving_is_exact_and_looking_changes_nothing(kind, data):
    setup = data.draw(setups(kind))
    before, after = (data.draw(schedules(4, 30_000, kind)) for _ in range(2))
    plant, other = play(kind(setup, seed=3), before), kind(setup, seed=3)
    saved = plant.save()
    other.restore(saved)
    play(other, after, in_pieces(lambda: 10_000))
    ends = (repr(other.save()), readings(other))
    assert (repr(play(plant, after, looking_around).save()), readings(plant)) == ends
    plant.restore(saved)
    assert (repr(play(plant, after, looking_around).save()), readings(plant)) == ends
