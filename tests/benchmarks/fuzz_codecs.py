"""Ten million random and mutated bytes into both codecs: C kit with sanitizers, Python kit, bench's decoder.

    python -m tests.benchmarks.fuzz_codecs [BYTES [SEED]]

Mutated from the corpus and from both sides of a real run. Every line has one verdict, the same from all; no
number is out of range; nothing crashes; memory stays. The first thing that is not so ends the program with
its line.
"""

from __future__ import annotations

import re
import resource
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from harness.line import Decoder, Side
from tests.benchmarks.fuzz_streams import conversation, corpus_lines, stream
from tests.benchmarks.fuzz_verdicts import Codecs, python_kit
from tests.firmware import build_reference
from tests.stubs.kit_builds import SANITIZE, compile_app

ALL_BYTES = 10_000_000
PART_BYTES = 1_000_000
CPU_S = 300


@dataclass
class Child:
    """The C kit of the dialogues with address and undefined-behaviour sanitizers, a process for each part."""

    program: Path
    folder: Path
    most_kb: int = 0

    def answers(self, data: bytes) -> bytes:
        """All it answers. Raises AssertionError if it ends otherwise than well, or takes more than CPU_S."""
        heard, said = self.folder / "heard", self.folder / "said"
        with heard.open("wb") as stdout, said.open("wb") as stderr:
            child = subprocess.Popen([self.program], stdin=subprocess.PIPE, stdout=stdout, stderr=stderr)
            resource.prlimit(child.pid, resource.RLIMIT_CPU, (CPU_S, CPU_S))
            assert child.stdin is not None
            with suppress(BrokenPipeError), child.stdin:
                child.stdin.write(data)
                child.stdin.flush()
                # All but a pipe's worth is taken, and it lives; getrusage would count this process as well.
                self.most_kb = max(self.most_kb, most_kb(child.pid))
        assert (child.wait(), said.read_bytes()) == (0, b"")
        return heard.read_bytes()


def most_kb(process: int | str) -> int:
    """The most memory a process has had so far (proc(5), VmHWM)."""
    found = re.search(r"VmHWM:\s+(\d+) kB", Path(f"/proc/{process}/status").read_text())
    return int(found[1]) if found else 0


def play(child: Child, lines: list[bytes], seed: int, size: int) -> Codecs:
    """One part into all; AssertionError where they differ."""
    data = stream(seed, lines, size)
    codecs = Codecs(seed)
    assert child.answers(data) == codecs.feed(data), f"seed {seed}: the kits' answers differ"
    return codecs


def kept_bytes(data: bytes) -> tuple[int, int]:
    """What the decoder and the Python kit hold after `data`, and at most while they take it in small cuts."""
    answer = bytearray()
    tracemalloc.start()
    decoder, kit = Decoder(Side.BENCH), python_kit(answer)
    before = tracemalloc.get_traced_memory()[0]
    tracemalloc.reset_peak()
    for place in range(0, len(data), 4000):
        decoder.feed(data[place : place + 4000])
        kit.feed(data[place : place + 4000])
        answer.clear()
    after, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return after - before, most - before


def main(words: list[str]) -> int:
    size, seed = [int(word) for word in words] + [ALL_BYTES, 1][len(words) :]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        lines = corpus_lines() + conversation(build_reference(folder).links["lib"])
        child = Child(compile_app(folder / "kit", "dialogue_app.c", "port_host.c", *SANITIZE), folder)
        verdicts: Counter[str] = Counter()
        own, began = 0, time.perf_counter()
        for place in range(0, size, PART_BYTES):
            verdicts += play(child, lines, seed + place // PART_BYTES, min(PART_BYTES, size - place)).verdicts
            own = own or most_kb("self")
        took_s = time.perf_counter() - began
    print(f"{size} bytes from {len(lines)} real lines, seed {seed}:")
    print(f"{sum(verdicts.values())} lines in {took_s:.0f} s,", end=" ")
    print("each with one verdict from the C kit (sanitizers on), the Python kit and the bench's decoder")
    print("  " + ", ".join(f"{count} {what}" for what, count in verdicts.most_common()))
    print(f"C kit, a process: at most {child.most_kb} KB, sanitizers and C library included")
    print(f"this process: {own} KB after the first {PART_BYTES} bytes, {most_kb('self')} KB after the last")
    for what, data in (("of them", stream(seed, lines, PART_BYTES)), ("without LF", b"a" * PART_BYTES)):
        kept, most = kept_bytes(data)
        print(f"decoder and Python kit, {PART_BYTES} bytes {what}: {kept} bytes kept, at most {most}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
