"""Is every rig safe with the healthy controller? `python tests/defects/random_rigs.py` draws 200 and plays.

Each rig draws its parameters from ranges that a practitioner's rig could have (OWNED, narrower than the
plant's own), with its number as the seed. On each the healthy controller plays the same few days, judged by
assertions whose numbers hold for every rig. Exit 1 if one is not met. `--first 22 --rigs 1` is rig 22.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from harness.assertions.verdict import Outcome, Status
from harness.scenario import Scenario, load_scenario
from tests.defects import seeded

DAYS = Path(__file__).resolve().parent / "days"

#: Sub-ranges of the plant's parameters, in their units: what a homebuilder could own.
OWNED: Mapping[str, tuple[float, float]] = {
    "liquor_volume": (20.0, 100.0),
    "mash_volume": (12.0, 70.0),
    "liquor_loss": (3.0, 25.0),
    "mash_loss": (2.0, 15.0),
    "liquor_open": (0.0, 60.0),
    "mash_open": (0.0, 60.0),
    "ambient": (-5.0, 38.0),
    "humidity": (20.0, 95.0),
    "altitude": (0.0, 1800.0),
    "grain_exchange": (40.0, 400.0),
    "base_heat": (2.0, 15.0),
    "base_exchange": (80.0, 400.0),
    "base_loss": (1.0, 8.0),
    "coil_ua": (200.0, 900.0),
    "coil_volume": (0.6, 3.0),
    "pipe_to_coil": (0.15, 1.2),
    "pipe_to_tun": (0.15, 1.2),
    "pipe_loss": (0.3, 3.0),
    "burner_efficiency": (35.0, 70.0),
    "valve_open_time": (0.05, 1.0),
    "valve_close_time": (0.05, 1.0),
    "light_up_delay": (0.3, 4.0),
    "flame_signal_delay": (0.05, 0.8),
    "flow": (4.0, 12.0),
    "flow_switch_at": (1.0, 2.5),
    "flow_switch_delay": (0.1, 1.5),
    "pump_start_delay": (0.1, 1.5),
    "probe_resolution": (0.01, 0.1),
    "probe_noise": (0.0, 0.15),
    "liquor_lag": (3.0, 25.0),
    "coil_outlet_lag": (2.0, 15.0),
    "pump_inlet_lag": (2.0, 15.0),
    "limit_lag": (3.0, 25.0),
}

#: Heat input for each litre of liquor: a burner is bought for its tank. [kW/L]
POWER = (0.12, 0.35)

#: Fire space and fresh air for each kW: the stand is built for its burner. [L/kW, L/s kW]
SPACE, AIR = (20.0, 60.0), (1.3, 6.0)


@dataclass(frozen=True)
class Failure:
    """A day that a rig did not pass."""

    rig: int
    day: str
    what: str


def draw(rig: int) -> dict[str, float | str]:
    """The parameters of rig number `rig`."""
    chance = Random(rig)
    setup = {name: round(chance.uniform(low, high), 3) for name, (low, high) in OWNED.items()}
    power = setup["burner_power"] = round(setup["liquor_volume"] * chance.uniform(*POWER), 2)
    setup["fire_space"] = round(power * chance.uniform(*SPACE), 1)
    setup["ventilation"] = round(power * chance.uniform(*AIR), 1)
    setup["grain"] = round(setup["mash_volume"] * chance.uniform(0.15, 0.35), 2)
    return setup | {"gas": ("propane", "natural-gas", "butane")[chance.randrange(3)]}


def days() -> dict[str, Scenario]:
    """The days that every rig plays, by name."""
    return {path.stem: load_scenario(path) for path in sorted(DAYS.glob("*.toml"))}


def on_rig(day: Scenario, rig: int, only: str = "") -> Scenario:
    """A day on a drawn rig; the day's own figures stand. With `only`, that parameter alone is drawn."""
    setup = {name: value for name, value in draw(rig).items() if only in ("", name)}
    return replace(day, plant_setup=setup | day.plant_setup, seed=rig)


def failures(rig: int, link: str, only: str = "") -> list[Failure]:
    """What goes wrong on one rig."""
    with tempfile.TemporaryDirectory() as folder:
        return list(_failures(rig, link, Path(folder), only))


def _failures(rig: int, link: str, folder: Path, only: str) -> Iterator[Failure]:
    for name, day in days().items():
        result = seeded.play(on_rig(day, rig, only), link, folder)
        if result.status is Status.PASS:
            continue
        yield from (Failure(rig, name, reason) for reason in result.reasons)
        for verdict in result.verdicts:
            if verdict.outcome is not Outcome.MET:
                margin = "" if verdict.margin is None else f" by {verdict.margin:.3g} {verdict.margin_unit}"
                yield Failure(rig, name, f"{verdict.outcome}{margin}: {verdict.title}")


def main() -> int:
    """The program."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rigs", type=int, default=200, help="how many")
    parser.add_argument("--first", type=int, default=1, help="number of the first rig")
    parser.add_argument("--jobs", type=int, default=2, help="processes at once")
    parser.add_argument("--device", default="", help="link to the controller; the C reference without")
    parser.add_argument("--only", default="", help="draw this parameter alone; the others at their default")
    chosen = parser.parse_args()
    begun = time.perf_counter()
    rigs = range(chosen.first, chosen.first + chosen.rigs)
    with tempfile.TemporaryDirectory() as folder, ProcessPoolExecutor(chosen.jobs) as pool:
        link = chosen.device or seeded.build(Path(folder))
        found = [f for many in pool.map(partial(failures, link=link, only=chosen.only), rigs) for f in many]
    for failure in found:
        print(f"rig {failure.rig}, {failure.day}: {failure.what}")
    for rig in sorted({failure.rig for failure in found}):
        print(f"rig {rig}: " + ", ".join(f"{name} {value}" for name, value in draw(rig).items()))
    passed = len(rigs) - len({failure.rig for failure in found})
    print(f"{passed} of {len(rigs)} rigs pass {len(days())} days; {time.perf_counter() - begun:.0f} s")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
