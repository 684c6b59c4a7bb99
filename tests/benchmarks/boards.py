"""Every ready scenario on the emulated boards: passes as on the host, the recorded run the same by digest.

    python tests/benchmarks/boards.py [SCENARIO…]

Builds the reference controller with `make`, plays each scenario over `run:`, `avr:` and `arm:`, two at a
time, and prints a line for each with the cost of an exchange. Exit code 1 if a run ends otherwise than its
file says, or differs from the host's. `.ci/run` calls it.

The AVR emulator has no EEPROM, so a power cut there loses what the firmware keeps in it: scenarios with a
power cut are played on the host and on ARM, and are counted.
"""

from __future__ import annotations

import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from harness.bench.result import RunResult  # noqa: E402
from harness.bench.run import run_scenario  # noqa: E402
from harness.logbook import Logbook  # noqa: E402
from harness.scenario import find_scenarios, load_scenario  # noqa: E402
from harness.shipped import shipped  # noqa: E402
from tests.emulated import KINDS, build_emulated, build_host  # noqa: E402

AT_ONCE = 2
NO_MEMORY = ("avr",)
# Waits are for a machine that has other things to do.
ANSWER_S = 20.0


def play(file: Path, devices: dict[str, str], folder: Path) -> tuple[Path, dict[str, RunResult]]:
    """One scenario on every device, one after the other; the results by kind."""
    results = {}
    scenario = load_scenario(file)
    needs_memory = any(disturbance.kind == "power-cut" for disturbance in scenario.disturbances)
    for kind, device in devices.items():
        if not (needs_memory and kind in NO_MEMORY):
            book = Logbook(folder / f"{file.parent.name}-{file.stem}-{kind}.sqlite")
            results[kind] = run_scenario(scenario, device, book, answer_timeout_s=ANSWER_S)
    return file, results


def show(file: Path, results: dict[str, RunResult]) -> bool:
    """Print what became of a scenario; True if all is as it should be."""
    host = results["host"]
    sound = {
        kind: result.status == load_scenario(file).expected and result.digest == host.digest
        for kind, result in results.items()
    }
    costs = [_cost_ms(results.get(kind)) for kind in ("host", *KINDS)]
    words = ", ".join(f"{kind} {results[kind].status}" for kind, good in sound.items() if not good)
    name = f"{file.parent.name}/{file.stem}"
    print(f"{name:<28}{host.exchanges:>8} {''.join(costs)}  {words or 'same'}", flush=True)
    for kind, good in sound.items():
        if not good:
            print(f"    {kind}: digest {results[kind].digest[:16]}, reasons {results[kind].reasons}")
    return all(sound.values())


def _cost_ms(result: RunResult | None) -> str:
    return f"{result.wall_s / max(1, result.exchanges) * 1e3:8.3f}" if result else f"{'-':>8}"


def main(words: list[str]) -> int:
    files = find_scenarios([Path(word) for word in words] or [shipped("scenarios")])
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory(prefix="unlit-boards-") as name:
        folder = Path(name)
        devices = {"host": build_host(folder)} | build_emulated(folder)
        print(f"{'scenario':<28}{'exchanges':>8}{'host ms':>8}" + "".join(f"{kind:>5} ms" for kind in KINDS))
        with ProcessPoolExecutor(AT_ONCE) as pool:
            jobs = [pool.submit(play, file, devices, folder) for file in files]
            sound = [show(*job.result()) for job in jobs]
    without = sum(kind not in job.result()[1] for job in jobs for kind in NO_MEMORY)
    took_s = time.perf_counter() - begun
    print(f"{sum(sound)} of {len(sound)} scenarios end as they say, the same on every board; {took_s:.0f} s")
    print(f"not played on AVR, which has no EEPROM in the emulator: {without} with a power cut")
    return 0 if sound and all(sound) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
