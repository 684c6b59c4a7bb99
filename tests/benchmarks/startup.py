"""How long a command takes to start, beside an empty Python process on the same machine.

Run: python -m tests.benchmarks.startup. Prints processor time, least of several taken in turn, and ratios;
asserts nothing. Byte code is kept between the rounds, as it is in an installed package, in its own folder.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 9
UNLIT = "import sys; from harness.cli import main; sys.exit(main(sys.argv[1:]))"

#: The last ones are parts: libraries that commands wait for, and the two that `unlit check` needs.
CASES = {
    "python -c pass": ("pass",),
    "unlit --help": (UNLIT, "--help"),
    "unlit run --help": (UNLIT, "run", "--help"),
    "unlit runs (no logbook)": (UNLIT, "runs", "--logbook", "no-such-file"),
    "unlit plants": (UNLIT, "plants"),
    "unlit check one scenario": (UNLIT, "check", "heating/first-heat"),
    "numpy": ("import numpy",),
    "cyclopts": ("import cyclopts",),
    "the expressions' parser": ("from harness.assertions.grammar import parse; parse('a > 1', 'condition')",),
    "spanned_toml": ("import spanned_toml",),
}


def once_s(words: tuple[str, ...], kept: str) -> float:
    """Processor time of one fresh process, which keeps its byte code in the folder `kept`. [s]"""
    surroundings = {**os.environ, "PYTHONPYCACHEPREFIX": kept}
    surroundings.pop("PYTHONDONTWRITEBYTECODE", None)
    quiet = [(os.POSIX_SPAWN_OPEN, number, os.devnull, os.O_RDWR, 0) for number in (0, 1, 2)]
    command = [sys.executable, "-c", *words]
    child = os.posix_spawn(sys.executable, command, surroundings, file_actions=quiet)
    _, _, used = os.wait4(child, 0)
    return used.ru_utime + used.ru_stime


def main() -> None:
    """Take the cases in turns, so that a busy machine spoils all of them alike."""
    os.chdir(ROOT)
    least = dict.fromkeys(CASES, float("inf"))
    with tempfile.TemporaryDirectory() as kept:
        for words in CASES.values():
            once_s(words, kept)
        for _ in range(ROUNDS):
            for name, words in CASES.items():
                least[name] = min(least[name], once_s(words, kept))
    empty = least["python -c pass"]
    for name, seconds in least.items():
        print(f"{name:28} {seconds * 1e3:7.1f} ms  {seconds / empty:6.1f} x empty")


if __name__ == "__main__":
    main()
