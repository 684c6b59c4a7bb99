"""Events happen at their own instant; herms-gas against a tight solver."""

import pytest

from tests.plants.delay_oracle import worst_error
from tests.plants.small_plants import signals
from tests.plants.strategies import HERMS, in_pieces, play


def test_events_happen_at_their_own_millisecond():
    plant = HERMS({"light_up_delay": 1.237, "valve_open_time": 0.3})
    seen = []
    plant.on_change = lambda time_ms, text: seen.append((time_ms, text, signals(plant)["flame"]))
    plant.advance(1001)
    plant.command([1, 1, 1])
    plant.advance(10_000)
    assert seen == [
        (1201, "pump turns", 0.0),
        (1301, "gas valve open", 0.0),
        (1701, "flow switch sees flow", 0.0),
        (2538, "flame lights", 1.0),
        (2838, "flame signal on", 1.0),
    ]


def test_heat_comes_from_the_millisecond_of_the_flame():
    plant = HERMS({"light_up_delay": 1.237})
    plant.command([1, 1, 0])
    plant.advance(2000)
    assert plant.balance().supplied_j == pytest.approx(5400.0 * (2000 - 300 - 1237) / 1000.0, rel=1e-12)


# Five burner cycles; two whole hours are played by tests/benchmarks/plant_step.py.
CYCLES = [
    (start + wait, command)
    for start in range(1000, 300_000, 60_000)
    for wait, command in ((0, [1, 1, 1]), (4000, [1, 0, 1]), (30_000, [0, 0, int(start % 7 < 4)]))
]


@pytest.mark.parametrize(
    "setup",
    [
        {"liquor_start": 70.0, "mash_start": 45.0},
        {
            "liquor_start": 94.3,
            "altitude": 1600.0,
            "mash_start": 60.0,
            "burner_power": 20.0,
            "liquor_open": 100.0,
            "mash_open": 100.0,
        },
        {"liquor_start": 50.0, "flow": 17.0, "pipe_to_tun": 0.1, "coil_ua": 1500.0, "liquor_lag": 0.5},
    ],
)
def test_agrees_with_a_tight_solver(setup):
    """DOP853 of scipy at 1e-10 with exact delays, on the plant's own equations."""
    assert worst_error(lambda: HERMS(setup), CYCLES, 120_000) < 1e-4


@pytest.mark.parametrize("length_ms", [33, 50, 100, 125])
def test_a_break_on_a_whole_millisecond_leaves_no_trace(length_ms):
    """The pump starts at room temperature; pieces end where fronts arrive (0.1 J once went astray)."""
    schedule = [(18_000, (0, 0, 1), None, False)]
    whole, cut = play(HERMS(), schedule), play(HERMS(), schedule, in_pieces(lambda: length_ms))
    assert signals(cut)["heat_lost"] == pytest.approx(signals(whole)["heat_lost"], abs=1e-5)
