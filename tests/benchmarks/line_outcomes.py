"""What becomes of a short run at every fault of the line, at every byte and line of an exchange, by counting.

    python -m tests.benchmarks.line_outcomes

The C reference controller over `lib:` at every byte, a sample over `run:` and `pty:`; then a reset and a
power cut at every exchange. `recovered` is the clean run to the last bit; `inconclusive` has its reason. What
must never happen would stand as WRONG, and the program then ends with 1.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.firmware import build_reference
from tests.whole.outcomes import Table, byte_faults, cut_table, line_faults, line_table, play, reset_table

SAMPLE = 19
SAMPLE_MS = 2500


def show(title: str, *tables: Table) -> int:
    """Print the tables; how many outcomes must never happen."""
    print(f"\n{title}")
    wrong = 0
    for label, outcomes in (row for table in tables for row in table.items()):
        print(f"  {label:<44}" + ", ".join(f"{count} {word}" for word, count in sorted(outcomes.items())))
        wrong += sum(count for word, count in outcomes.items() if word.startswith("WRONG"))
    return wrong


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        links = build_reference(Path(folder)).links
        wrong = 0
        for kind, device in links.items():
            clean = play(device)[1]
            whole = kind == "lib"
            faults = [*line_faults(), *byte_faults(clean, 1 if whole else SAMPLE)]
            every = {} if whole else {"every_ms": SAMPLE_MS}
            wrong += show(
                f"{kind}: {'every byte and exchange' if whole else 'a sample'}",
                line_table(device, faults),
                reset_table(device, **every),
                cut_table(device, **every),
            )
        print(f"\n{wrong} outcomes that must never happen")
        return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
