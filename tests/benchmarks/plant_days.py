"""A working day of each ready plant: the figures that plants/README.md tells, and pictures to look at.

    python tests/benchmarks/plant_days.py [--plant herms] [--plots FOLDER]

Each plant is driven by the simplest control there is, on the true values. The pictures need matplotlib.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from plants import Plant, ready_plants

Values = dict[str, float]
Control = Callable[[float, Values], list[int]]
"""Commands at a time [s] with these true values."""


@dataclass
class Day:
    """A plant, its set-up, how it is driven, what befalls it [min], and for how long [min]."""

    plant: str
    title: str
    minutes: int
    control: Callable[[], Control]
    setup: dict[str, float | str] = field(default_factory=dict)
    befalls: tuple[tuple[float, str, str | None, dict[str, float]], ...] = ()
    ends: dict[float, str] = field(default_factory=dict)
    every_s: float = 1.0
    panels: tuple[tuple[str, ...], ...] = ()


def two_point(signal: str, at: float, band: float, on: list[int], off: list[int]) -> Callable[[], Control]:
    """Heat on below `at` less half the band, off above `at` plus half of it."""

    def make() -> Control:
        state = {"on": False}

        def control(_: float, values: Values) -> list[int]:
            if values[signal] < at - band / 2.0:
                state["on"] = True
            elif values[signal] > at + band / 2.0:
                state["on"] = False
            return on if state["on"] else off

        return control

    return make


def steady(values: list[int]) -> Callable[[], Control]:
    """The same all the time."""
    return lambda: lambda _, __: values


def thermostat() -> Control:
    """Cool above 18.3 degC down to 18 degC, warm below 17.7 up to 18; the compressor rests 5 min."""
    state = {"cool": 0, "warm": 0, "stopped": -1e9}

    def control(now: float, values: Values) -> list[int]:
        beer = values["beer"]
        if state["cool"] and beer <= 18.0:
            state["cool"], state["stopped"] = 0, now
        elif beer > 18.3 and now - state["stopped"] > 300.0:
            state["cool"] = 1
        state["warm"] = int(beer < 17.7 or (state["warm"] and beer < 18.0))
        return [int(state["cool"]), int(state["warm"])]

    return control


def restarted() -> Control:
    """The compressor stops after an hour and is switched on again 30 s later."""
    return lambda now, _: [int(not 3600.0 <= now < 3630.0), 0]


PIECES = ((100.0, 600.0), (150.0, 1120.0), (60.0, 1222.0))
"""Of a firing: K/h up to degC."""


def firing() -> Control:
    """Follow the pieces by time proportioning over 20 s (3 %/K, 5 min), hold for 20 min, stop."""
    state = {"set": 20.0, "sum": 0.0, "held": 0.0, "duty": 0.0}

    def control(now: float, values: Values) -> list[int]:
        if now % 20.0 == 0.0:
            seen = 0.5 * (values["ware"] + values["hot_face"])
            pace = next((rate for rate, top in PIECES if state["set"] < top), 0.0)
            if pace and seen > state["set"] - 10.0:
                state["set"] = min(state["set"] + pace / 180.0, PIECES[-1][1])
            state["held"] += 0.0 if pace else 20.0
            error = state["set"] - seen
            wanted = 0.03 * error + state["sum"]
            state["sum"] += 0.03 * error * 20.0 / 300.0 if 0.0 < wanted < 1.0 else 0.0
            state["duty"] = min(max(wanted, 0.0), 1.0) if state["held"] < 1200.0 else 0.0
        return [int(now % 20.0 < 20.0 * state["duty"])]

    return control


NIGHTS = tuple(
    (hour * 60.0, "ambient-change", None, {"change": -14.0, "over": 7200.0}) for hour in (10.0, 34.0)
)
DAYS = (
    Day("herms-gas", "20 to 67 degC, two-point on the coil outlet", 120,
        two_point("coil_outlet", 67.0, 0.2, [1, 1, 1], [0, 0, 1]),
        panels=(("liquor", "mash", "grain", "coil_outlet", "base"), ("burner_heat",), ("evaporated",))),
    Day("direct-fired-mash", "dough-in at 5 min, two-point at 66 degC on what comes back", 120,
        two_point("tun_inlet", 66.0, 0.2, [1, 1, 1], [0, 0, 1]),
        {"mash_start": 72.0, "grain": 0.0, "burner_power": 7.0},
        ((5.0, "grain-added", None, {"mass": 7.0}), (80.0, "flow-restricted", None, {"fraction": 33.0}),
         (105.0, "pump-stops", None, {})),
        panels=(("mash", "grain", "below", "tun_inlet", "base"), ("burner_heat",), ("flow",))),
    Day("electric-kettle", "to the boil, water added, run low", 120, steady([1]), {"kettle_start": 15.0},
        ((85.0, "cold-water-added", "kettle", {"volume": 4.0}),
         (105.0, "vessel-runs-low", "kettle", {"flow": 6.0})),
        panels=(("kettle", "layer"), ("sheath",), ("volume", "evaporated"), ("element_covered",))),
    Day("fermentation-chamber", "18 degC, two nights 14 K colder", 2880, thermostat, {}, NIGHTS,
        {22.0 * 60.0: "ambient-change", 46.0 * 60.0: "ambient-change"}, 10.0,
        panels=(("beer", "chamber", "evaporator", "liner", "ambient"), ("compressor", "heater_relay"),
                ("ferment_heat",), ("fermented",))),
    Day("fermentation-chamber", "switched on again after 30 s", 80, restarted,
        panels=(("evaporator",), ("compressor_power",), ("locked_rotor", "overload", "compressor"))),
    Day("pottery-kiln", "a firing to 1222 degC", 1080, firing,
        panels=(("ware", "core", "hot_face", "element"), ("shell",), ("element_heat",))),
    Day("pottery-kiln", "the relay welds at the end of a firing", 720, firing, {},
        ((677.5, "relay-welded-on", "element", {}),), panels=(("ware", "core", "hot_face", "element"),)),
)  # fmt: skip


def played(day: Day) -> tuple[np.ndarray, dict[str, np.ndarray], list[tuple[float, str]]]:
    """Times [min], every signal at them, and what was told."""
    plant: Plant = ready_plants()[day.plant](day.setup)
    control, names = day.control(), [one.name for one in plant.signals]
    told: list[tuple[float, str]] = []
    plant.on_change = lambda time_ms, text: told.append((time_ms / 60_000.0, text))
    rows, befalls, ends, tokens = [], sorted(day.befalls), dict(day.ends), {}
    while plant.time_ms <= day.minutes * 60_000:
        now = plant.time_ms / 1000.0
        for at in [at for at in ends if at * 60.0 <= now]:
            plant.end_fault(tokens[ends.pop(at)])
        while befalls and befalls[0][0] * 60.0 <= now:
            _, kind, place, sizes = befalls.pop(0)
            tokens[kind] = plant.begin_fault(kind, place, sizes)
        values = dict(zip(names, plant.sample(), strict=True))
        rows.append([now / 60.0, *values.values()])
        plant.command(control(now, values))
        plant.advance(plant.time_ms + round(day.every_s * 1000.0))
    table = np.array(rows)
    return table[:, 0], dict(zip(names, table[:, 1:].T, strict=True)), told


def figures(minutes: np.ndarray, signals: dict[str, np.ndarray], wanted: tuple[str, ...]) -> Iterator[str]:
    """A line a moment: the wanted signals at twelve times over the day."""
    yield "       min" + "".join(f"{name:>13}" for name in wanted)
    for at in np.linspace(0, len(minutes) - 1, 13).astype(int):
        yield f"{minutes[at]:10.1f}" + "".join(f"{signals[name][at]:13.4g}" for name in wanted)
    yield "     least" + "".join(f"{signals[name].min():13.4g}" for name in wanted)
    yield "      most" + "".join(f"{signals[name].max():13.4g}" for name in wanted)


def draw(day: Day, minutes: np.ndarray, signals: dict[str, np.ndarray], file: Path) -> None:
    """One picture: a panel above another."""
    import matplotlib as mpl

    mpl.use("Agg")
    from matplotlib import pyplot as plt

    heights = [3.0] + [1.0] * (len(day.panels) - 1)
    figure, axes = plt.subplots(
        len(day.panels), 1, sharex=True, squeeze=False, figsize=(12.0, 8.0), height_ratios=heights
    )
    for axis, names in zip(axes[:, 0], day.panels, strict=True):
        for name in names:
            axis.plot(minutes, signals[name], label=name, linewidth=1.0)
        axis.legend(loc="upper left")
        axis.grid(alpha=0.3)
    axes[0, 0].set_title(f"{day.plant}: {day.title}")
    axes[-1, 0].set_xlabel("minutes")
    figure.tight_layout()
    figure.savefig(file, dpi=80)
    plt.close(figure)


def main() -> None:
    """The program."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--plant", default="", help="only plants whose name begins so")
    options.add_argument("--plots", type=Path, help="folder for pictures")
    given = options.parse_args()
    for number, day in enumerate(DAYS):
        if not day.plant.startswith(given.plant):
            continue
        minutes, signals, told = played(day)
        print(f"\n{day.plant}: {day.title}")
        print("\n".join(figures(minutes, signals, tuple(name for panel in day.panels for name in panel))))
        seen: dict[str, int] = {}
        for at, text in told:
            seen[text] = seen.get(text, 0) + 1
            if seen[text] == 1:
                print(f"{at:10.2f} {text}")
        print("    " + ", ".join(f"{text}: {count}" for text, count in seen.items() if count > 1))
        if given.plots:
            given.plots.mkdir(parents=True, exist_ok=True)
            draw(day, minutes, signals, given.plots / f"{number}-{day.plant}.png")


if __name__ == "__main__":
    main()
