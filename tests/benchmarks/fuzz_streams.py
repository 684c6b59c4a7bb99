"""Bytes to throw at a codec: noise, and what is left of real lines after an accident, drawn with a seed."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from harness.bench.run import run_scenario
from harness.line import frame
from harness.links import Link, open_link
from tests.whole.outcomes import SHORT, Nowhere

CORPUS = Path(__file__).resolve().parents[2] / "harness" / "line" / "corpus.txt"
VERBS = b"hi go back at tick put type end no me in out ready ok got now tell say".split()
EDGES = [0, 1, 32, 33, 99, 100, 1000, 2**31 - 1, 2**31, 2**32 - 1, 2**32, 2**64, -1, -(2**31) + 1, -(2**31)]
PRINTABLE = bytes(range(32, 127))


class Overheard(Link):
    """A link that keeps all that passes."""

    def __init__(self, link: Link) -> None:
        super().__init__(link.text)
        self._link = link
        self.heard = bytearray()

    def write(self, data: bytes) -> None:
        self.heard += data
        self._link.write(data)

    def read(self, timeout_s: float) -> bytes:
        data = self._link.read(timeout_s)
        self.heard += data
        return data

    def restart(self) -> None:
        self._link.restart()

    def close(self) -> None:
        self._link.close()


def corpus_lines() -> list[bytes]:
    """The lines of the corpus as they go over the wire, without LF."""
    rows = (row.split("\t") for row in CORPUS.read_text().splitlines() if row and row[0] != "#")
    return [re.sub(rb"\\x([0-9A-F]{2})", lambda m: bytes([int(m[1], 16)]), row[2].encode()) for row in rows]


def conversation(device: str) -> list[bytes]:
    """All lines of both sides of a short run: a rig's burner lights."""
    links: list[Overheard] = []

    def opening(text: str) -> Link:
        links.append(Overheard(open_link(text)))
        return links[0]

    run_scenario(SHORT, device, Nowhere(), opening=opening)  # type: ignore[arg-type]
    return bytes(links[0].heard).splitlines()


def _hurt(chance: random.Random, line: bytes) -> bytes:
    """One to four accidents: bits flipped, bytes lost, added, doubled, cut off."""
    data = bytearray(line)
    for _ in range(chance.randint(1, 4)):
        place, size = chance.randrange(len(data) + 1), chance.randint(1, 6)
        way = chance.randrange(5)
        if way == 0 and place < len(data):
            data[place] ^= 1 << chance.randrange(8)
        elif way == 1:
            del data[place : place + size]
        elif way == 2:
            data[place:place] = chance.randbytes(size)
        elif way == 3:
            data[place:place] = data[max(0, place - size) : place]
        elif chance.random() < 0.2:
            del data[place:]
    return bytes(data)


def _nonsense(chance: random.Random) -> bytes:
    """A body of the protocol's words in no order, numbers at the edges of their ranges among them."""
    words = [chance.choice(VERBS)]
    for _ in range(chance.randrange(6)):
        number = chance.choice(EDGES) if chance.random() < 0.6 else chance.randrange(5000)
        channel = b"%d=" % chance.choice([1, 2, 3, 4, 99]) if chance.random() < 0.6 else b""
        words.append(channel + b"%d" % number)
    return b" ".join(words)


def _checked(line: bytes) -> bytes:
    """The line with a check that is right for whatever its body has become."""
    return frame(line.rpartition(b"*")[0].replace(b"\n", b""))


def pieces(chance: random.Random, lines: Sequence[bytes]) -> Iterator[bytes]:
    """Without end: noise, real lines, hurt lines, hurt and nonsense bodies with a right check."""
    while True:
        line, kind = chance.choice(lines), chance.randrange(12)
        if kind == 0:
            yield chance.randbytes(chance.randint(1, 300)) + chance.choice([b"", b"\n"])
        elif kind == 1:
            yield bytes(chance.choices(PRINTABLE, k=chance.randint(1, 200))) + b"\n"
        elif kind <= 5:
            yield line + b"\n"
        elif kind <= 7:
            yield _hurt(chance, line) + b"\n"
        elif kind <= 9:
            yield _checked(_hurt(chance, line))
        else:
            yield frame(_nonsense(chance))


def stream(seed: int, lines: Sequence[bytes], size: int) -> bytes:
    """`size` bytes drawn with `seed`, from the real `lines` and noise; the last line may be unfinished."""
    data = bytearray()
    for piece in pieces(random.Random(seed), lines):
        data += piece
        if len(data) >= size:
            return bytes(data[:size])
    raise AssertionError("pieces() has no end")
