"""What people of the trade expect to see. Common practice, no source."""

import pytest

from plants import ready_plants
from tests.plants.small_plants import signal, signals

GALLON_L = 3.785411784
RATE_K_S = 2.0 / 1.8 / 60.0  # 2 degF/min


def rig_of_ten_gallons(power_kw, liquor_gal, mash_gal):
    """A rig of the ten-gallon class: light base and walls, water instead of mash."""
    return ready_plants()["herms-gas"]({
        "burner_power": power_kw, "liquor_volume": liquor_gal * GALLON_L, "mash_volume": mash_gal * GALLON_L,
        "grain": 0.5, "base_heat": 3.0, "liquor_wall": 2.0, "mash_wall": 2.0,
        "liquor_loss": 5.0, "mash_loss": 3.0,
    })  # fmt: skip


def rates(rig, pump):
    """Rise of liquor and mash [K/s] over five minutes once the start is over."""
    rig.command([1, 1, pump])
    rig.advance(300_000)
    before = signals(rig)
    rig.advance(600_000)
    after = signals(rig)
    return [(after[name] - before[name]) / 300.0 for name in ("liquor", "mash")]


def test_a_burner_sized_on_five_gallons_keeps_its_rate_with_the_volume_split():
    """Sized for 2 degF/min on 5 gal in the tank; 5.25 gal split 2:1 over tank and tun: roughly the same."""
    weak, strong = (rates(rig_of_ten_gallons(power, 5.0, 1.0), 0)[0] for power in (2.0, 4.0))
    power = 2.0 + 2.0 * (RATE_K_S - weak) / (strong - weak)
    assert rates(rig_of_ten_gallons(power, 5.0, 1.0), 0)[0] == pytest.approx(RATE_K_S, rel=0.01)
    liquor, mash = rates(rig_of_ten_gallons(power, 3.5, 1.75), 1)
    assert liquor == pytest.approx(RATE_K_S, rel=0.2)
    assert mash == pytest.approx(liquor, rel=0.1)


def test_a_coil_outlet_reacts_within_tens_of_seconds():
    """The burner lights while all is steady: the coil outlet answers long before the mash does."""
    rig = ready_plants()["herms-gas"]({"liquor_start": 66.0, "mash_start": 66.0, "ambient": 20.0})
    rig.command([0, 0, 1])
    rig.advance(120_000)
    rig.command([1, 1, 1])
    while not signal(rig, "flame"):
        rig.advance(rig.time_ms + 100)
    lit = rig.time_ms
    start = signals(rig)
    while signal(rig, "coil_outlet") < start["coil_outlet"] + 0.2:
        rig.advance(rig.time_ms + 250)
    assert 5_000 < rig.time_ms - lit < 90_000
    assert signal(rig, "mash") < start["mash"] + 0.1


def test_the_mash_of_the_default_rig_rises_about_a_degree_a_minute():
    rig = ready_plants()["herms-gas"]()
    rig.command([1, 1, 1])
    rig.advance(1_200_000)
    before = signal(rig, "mash")
    rig.advance(2_400_000)
    assert 0.6 < (signal(rig, "mash") - before) / 20.0 < 1.2
