"""The fermentation chamber and the kiln against a tight implicit solver."""

import pytest

from plants import ready_plants
from tests.plants.delay_oracle import worst_error

CHAMBER, KILN = (ready_plants()[name] for name in ("fermentation-chamber", "pottery-kiln"))
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
