"""The fermentation chamber and the kiln: balances, cutting of time, saving, reading, a tight solver."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plants import ready_plants
from tests.plants.delay_oracle import worst_error
from tests.plants.small_plants import signals
from tests.plants.strategies import play, schedules, setups

CHAMBER, KILN = (ready_plants()[name] for name in ("fermentation-chamber", "pottery-kiln"))
BOTH = pytest.mark.parametrize("kind", [CHAMBER, KILN], ids=lambda kind: kind.name)

# What heats or cools on its own account, or lets the room leave the range of its parameter.
CAUSES = {"relay-welded-on", "ambient-change"}
STARTS = {"ambient", "beer_start", "chamber_start", "kiln_start"}
# Not the surface, mass and power of the coils: coils that warm by 20 K/s are known to 3e-3 K only.
MILD = STARTS | {"beer_volume", "cooling_power", "compressor_rest", "sugar", "ware", "brick", "emissivity"}


def drawn(data, kind, most, longest_ms, names=None):
    """A random set-up of a kind and a random schedule for it."""
    return data.draw(setups(kind, names)), data.draw(schedules(most, longest_ms, kind))


@BOTH
@settings(max_examples=25)
@given(st.data())
def test_balance_closes(kind, data):
    plant = play(kind(data.draw(setups(kind))), data.draw(schedules(6, 60_000, kind)))
    assert plant.balance().heat_error < 1e-9
    assert all(math.isfinite(value) for value in plant.sample())


@BOTH
@settings(max_examples=20)
@given(st.data())
def test_without_heat_or_cold_nothing_leaves_the_hull(kind, data):
    setup, schedule = drawn(data, kind, 6, 120_000, STARTS)
    quiet = {"sugar": 0.0} if kind is CHAMBER else {}
    plant = kind(setup | quiet)
    bounds = [plant.setup[name] for name in STARTS if name in plant.setup]
    temperatures = [one.name for one in kind.signals if one.unit == "degC"]

    def watch(plant, until_ms):
        plant.advance(until_ms)
        values = signals(plant)
        assert all(min(bounds) - 1e-6 <= values[name] <= max(bounds) + 1e-6 for name in temperatures)

    off = (0,) * len(kind.actuators)
    rows = [(wait, off, None if f and f[0] in CAUSES else f, ends) for wait, _, f, ends in schedule]
    play(plant, rows, watch)


def same(one, other):
    """All signals agree within 1e-4 (K, %), J within 0.1."""
    for signal, a, b in zip(one.signals, one.sample(), other.sample(), strict=True):
        scale = 1000.0 if signal.unit == "J" else 1.0
        assert a == pytest.approx(b, abs=1e-4 * scale, rel=1e-7), signal.name


def in_pieces(length):
    """A way to advance in pieces as long as `length()` says."""

    def advance(plant, until_ms):
        while plant.time_ms < until_ms:
            plant.advance(min(until_ms, plant.time_ms + length()))

    return advance


@BOTH
@settings(max_examples=10)
@given(st.data(), st.sampled_from([100, 250, 1000]))
def test_halving_the_exchange_interval_changes_nothing(kind, data, length_ms):
    setup, schedule = drawn(data, kind, 4, 30_000, MILD)
    whole = play(kind(setup), schedule, in_pieces(lambda: length_ms))
    same(whole, play(kind(setup), schedule, in_pieces(lambda: length_ms // 2)))


@BOTH
@settings(max_examples=10)
@given(st.data(), st.randoms(use_true_random=False))
def test_random_pieces_end_where_the_whole_step_ends(kind, data, chance):
    setup, schedule = drawn(data, kind, 4, 20_000, MILD)
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


@BOTH
@settings(max_examples=10)
@given(st.data())
def test_save_and_restore_are_exact_and_reading_is_pure(kind, data):
    setup, before = drawn(data, kind, 4, 30_000)
    after = data.draw(schedules(4, 30_000, kind))
    plant, other = play(kind(setup, seed=3), before), kind(setup, seed=3)
    saved = plant.save()
    other.restore(saved)
    play(other, after, in_pieces(lambda: 10_000))
    ends = (repr(other.save()), readings(other))
    assert (repr(play(plant, after, looking_around).save()), readings(plant)) == ends
    plant.restore(saved)
    assert (repr(play(plant, after, looking_around).save()), readings(plant)) == ends


CYCLES = [
    (start + wait, on)
    for start in range(1000, 60_000, 20_000)
    for wait, on in ((0, [1, 0]), (11_000, [0, 1]))
]


@pytest.mark.parametrize(
    ("kind", "setup"),
    [
        (KILN, {}),
        (KILN, {"kiln_start": 1200.0, "door_opening": 0.3}),
        (KILN, {"kiln_start": 600.0, "ambient": -10.0, "emissivity": 0.5, "ware": 3.0}),
        (CHAMBER, {"fan": "with-compressor", "compressor_rest": 2.0}),
        (CHAMBER, {"beer_start": 25.0, "beer_volume": 5.0, "sugar": 3.0, "ferment_peak": 4.0}),
    ],
)
def test_agrees_with_a_tight_implicit_solver(kind, setup):
    """Radau of scipy at 1e-10 on the plant's own equations, the fourth powers of radiation included."""
    cycles = [(time, values[: len(kind.actuators)]) for time, values in CYCLES]
    assert worst_error(lambda: kind(setup), cycles, 60_000, "Radau") < 1e-4
