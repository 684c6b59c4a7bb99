"""How long a command takes to start, beside an empty Python process on the same machine.

Run by hand: `python tests/benchmarks/startup.py`. Prints medians and ratios; asserts nothing.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 9
UNLIT = "import sys; from harness.cli import main; sys.exit(main(sys.argv[1:]))"

CASES = {
    "python -c pass": ("pass",),
    "python -c 'import numpy'": ("import numpy",),
    "unlit --help": (UNLIT, "--help"),
    "unlit run --help": (UNLIT, "run", "--help"),
    "unlit runs (no logbook)": (UNLIT, "runs", "--logbook", "no-such-file"),
    "unlit plants": (UNLIT, "plants"),
    "unlit check first-heat": (UNLIT, "check", "first-heat"),
}


def once_s(words: tuple[str, ...]) -> float:
    """Wall time of one fresh process. [s]"""
    begun = time.perf_counter()
    subprocess.run([sys.executable, "-c", *words], cwd=ROOT, capture_output=True, check=False)
    return time.perf_counter() - begun


def main() -> None:
    """Take the cases in turns, so that a busy machine spoils all of them alike."""
    times: dict[str, list[float]] = {name: [] for name in CASES}
    for _ in range(ROUNDS):
        for name, words in CASES.items():
            times[name].append(once_s(words))
    medians = {name: statistics.median(values) for name, values in times.items()}
    empty = medians["python -c pass"]
    for name, median in medians.items():
        print(f"{name:28} {median * 1e3:7.1f} ms  {median / empty:6.1f} x empty")


if __name__ == "__main__":
    main()
