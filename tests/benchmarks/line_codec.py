"""Prints the cost of writing `at` and reading `ok`, fast path beside the full codec.

Run: python tests/benchmarks/line_codec.py
"""

import timeit

from harness.line.codec import Decoder, encode
from harness.line.fast import AtWriter, OkReader
from harness.line.messages import At, Ok, Side

NUMBERS = (1, 2, 3, 4, 5, 6)
READINGS = [65123, 66123, 64500, 65111, 1, 1]
OUTPUTS = ((1, 1), (2, 0), (3, 1), (4, 0), (5, 650), (6, 3), (7, 0), (8, 0))


def microseconds(call, rounds: int = 50_000) -> float:
    """Best of five means."""
    return min(timeit.repeat(call, number=rounds, repeat=5)) / rounds * 1e6


def main() -> None:
    writer, reader, decoder = AtWriter(NUMBERS), OkReader([n for n, _ in OUTPUTS]), Decoder(Side.DEVICE)
    question = At(1_234_500, tuple(zip(NUMBERS, READINGS, strict=True)))
    answer = encode(Ok(1_234_500, OUTPUTS))
    assert writer.line(1_234_500, READINGS) == encode(question)
    for name, fast, full in (
        ("write at", lambda: writer.line(1_234_500, READINGS), lambda: encode(question)),
        ("read ok", lambda: reader.values(1_234_500, answer), lambda: decoder.feed(answer)),
    ):
        quick, slow = microseconds(fast), microseconds(full, 5_000)
        print(f"{name}: fast {quick:.2f} µs, full {slow:.2f} µs, ratio {slow / quick:.1f}")


if __name__ == "__main__":
    main()
