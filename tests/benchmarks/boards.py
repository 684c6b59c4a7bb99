"""Every ready scenario on the emulated boards: passes as on the host, the recorded run the same by digest.

    python tests/benchmarks/boards.py [SCENARIO…]

Builds the reference controller with `make`, plays each scenario over `run:`, over `arm:`, and the AVR's
binary over `avr:` or `atmega:`, and prints a line for each with the cost of an exchange. Exit code 1 if a
run ends otherwise than its file says, or differs from the host's. `.ci/run` calls it.

`atmega:` is for power cuts, which `avr:` has no EEPROM for, and for the long scenarios: the `avr:` runs
take turns in a lane of their own, since an emulated AVR keeps a core busy and two of them on two cores
take five times as long; so the other core does its share of the AVR's work.
"""

from __future__ import annotations

import sys
import tempfile
import time
from concurrent.futures import Future, ProcessPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from harness.bench.result import RunResult  # noqa: E402
from harness.bench.run import run_scenario  # noqa: E402
from harness.logbook import Logbook  # noqa: E402
from harness.scenario import find_scenarios, load_scenario  # noqa: E402
from harness.shipped import shipped  # noqa: E402
from tests.emulated import build_emulated, build_host  # noqa: E402

NEVER_SLEEPS = ("avr",)
COLUMNS = ("avr", "atmega", "arm")
# Waits are for a machine that has other things to do.
ANSWER_S = 20.0
# Exchanges.
LONG = 9_000


def play(file: Path, kind: str, device: str, folder: Path) -> RunResult:
    """One scenario on one device."""
    book = Logbook(folder / f"{file.parent.name}-{file.stem}-{kind}.sqlite")
    return run_scenario(load_scenario(file), device, book, answer_timeout_s=ANSWER_S)


def needs_memory(file: Path) -> bool:
    """Whether the firmware must remember something over a power cut."""
    return any(disturbance.kind == "power-cut" for disturbance in load_scenario(file).disturbances)


def is_long(file: Path) -> bool:
    """Whether it is one of the score that make up a third of all exchanges."""
    scenario = load_scenario(file)
    return scenario.length_ms // scenario.exchange_every_ms >= LONG


def boards_for(file: Path) -> tuple[str, ...]:
    """The boards that play it; one build serves `avr:` and `atmega:`."""
    return ("atmega", "arm") if needs_memory(file) or is_long(file) else ("avr", "arm")


def show(file: Path, results: dict[str, RunResult]) -> bool:
    """Print what became of a scenario; True if all is as it should be."""
    host = results["host"]
    sound = {
        kind: result.status == load_scenario(file).expected and result.digest == host.digest
        for kind, result in results.items()
    }
    costs = [_cost_ms(results.get(kind)) for kind in ("host", *COLUMNS)]
    words = ", ".join(f"{kind} {results[kind].status}" for kind, good in sound.items() if not good)
    name = f"{file.parent.name}/{file.stem}"
    print(f"{name:<28}{host.exchanges:>8} {''.join(costs)}  {words or 'same'}", flush=True)
    for kind, good in sound.items():
        if not good:
            print(f"    {kind}: digest {results[kind].digest[:16]}, reasons {results[kind].reasons}")
    return all(sound.values())


def _cost_ms(result: RunResult | None) -> str:
    return f"{result.wall_s / max(1, result.exchanges) * 1e3:10.3f}" if result else f"{'-':>10}"


def main(words: list[str]) -> int:
    found = find_scenarios([Path(word) for word in words] or [shipped("scenarios")])
    files = [file for file in found if load_scenario(file).is_for("lib:")]
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory(prefix="unlit-boards-") as name:
        folder = Path(name)
        devices = {"host": build_host(folder)} | build_emulated(folder)
        devices["atmega"] = devices["avr"].replace("avr:", "atmega:", 1)
        columns = "".join(f"{kind + ' ms':>10}" for kind in ("host", *COLUMNS))
        print(f"{'scenario':<28}{'exchanges':>8}{columns}")
        with ProcessPoolExecutor(1) as busy, ProcessPoolExecutor(1) as rest:
            jobs: dict[Path, dict[str, Future[RunResult]]] = {}
            for file in files:
                wanted = ("host", *boards_for(file))
                lanes = {kind: busy if kind in NEVER_SLEEPS else rest for kind in wanted}
                jobs[file] = {
                    kind: lane.submit(play, file, kind, devices[kind], folder) for kind, lane in lanes.items()
                }
            sound = [
                show(file, {kind: job.result() for kind, job in started.items()})
                for file, started in jobs.items()
            ]
    took_s = time.perf_counter() - begun
    print(f"{sum(sound)} of {len(sound)} scenarios end as they say, the same on every board; {took_s:.0f} s")
    return 0 if sound and all(sound) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
