"""Any bytes at all: both kits live, and say the same."""

from __future__ import annotations

import random

import pytest

from tests.stubs.kit_builds import frame

SEEDS = range(8)
LINES_A_SEED = 700
WORDS = [*b"hi go back at tick put type end no say tell copy x".split(), b""]
NUMBERS = [0, 1, 2, 3, 4, 99, 100, 2**31 - 1, 2**31, 2**32 - 1, 2**32, -1, -(2**31)]


def any_word(chance: random.Random) -> bytes:
    if chance.random() < 0.3:
        return chance.choice(WORDS)
    value = chance.choice([str(chance.choice(NUMBERS)), str(chance.randrange(10000)), "x"])
    return (f"{chance.randrange(6)}={value}" if chance.random() < 0.7 else value).encode()


def good_line(chance: random.Random, time_ms: int) -> bytes:
    """A line that a bench could send."""
    channels = (1, 2, 3 if chance.random() < 0.9 else 9)
    values = b"".join(b" %d=%d" % (number, chance.randrange(-99, 99999)) for number in channels)
    verb = chance.choice([b"at", b"at", b"at", b"tick", b"put", b"go", b"end", b"hi"])
    body = {
        b"at": b"at %d" % time_ms + values,
        b"put": b"put" + values,
        b"end": b"end",
        b"hi": b"hi 1",
    }.get(verb, verb + b" %d" % time_ms)
    return frame(body)


def mutated(chance: random.Random, line: bytes) -> bytes:
    """A line with one to three bytes changed, lost or added."""
    data = bytearray(line)
    for _ in range(chance.randrange(1, 4)):
        place = chance.randrange(len(data))
        data[place : place + chance.randrange(2)] = chance.randbytes(chance.randrange(2))
    return bytes(data) + b"\n"


def stream(seed: int) -> bytes:
    """Good lines, broken lines, lines with a good check on a nonsense body, and noise."""
    chance = random.Random(seed)
    made = []
    for turn in range(LINES_A_SEED):
        line = good_line(chance, turn * 250 // 2)
        kind = chance.randrange(6)
        if kind == 0:
            line = mutated(chance, line)
        elif kind == 1:
            line = frame(mutated(chance, line[:-6])[:-1].replace(b"\n", b""))
        elif kind == 2:
            line = frame(b" ".join(any_word(chance) for _ in range(chance.randrange(1, 7))))
        elif kind == 3:
            line = chance.randbytes(chance.randrange(1, 180))
        made.append(line)
    return b"".join(made)


@pytest.mark.parametrize("pace", ["lockstep", "wall"])
@pytest.mark.parametrize("seed", SEEDS)
def test_kits_answer_any_bytes_alike(kits, pace, seed):
    data = stream(seed)
    answers = {}
    for name, kit in kits[pace].items():
        kit.power()
        answers[name] = kit.talk(data)
    assert answers["c sanitized"] == answers["c library"]
    assert answers["c library"] == answers["python"]


@pytest.mark.parametrize("name", ["python", "c library"])
def test_answers_do_not_depend_on_how_the_bytes_are_cut(kits, name):
    kit, data, chance = kits["lockstep"][name], stream(99), random.Random(99)
    kit.power()
    whole = kit.talk(data)
    kit.power()
    parts, place = [], 0
    while place < len(data):
        size = chance.randrange(1, 90)
        parts.append(kit.talk(data[place : place + size]))
        place += size
    assert b"".join(parts) == whole


def test_streams_reach_every_answer(kits):
    """The check of the check: the streams are not all refused at the door."""
    python = kits["lockstep"]["python"]
    answers = b""
    for seed in SEEDS:
        python.power()
        answers += python.talk(stream(seed))
    for body in (b"crc", b"form", b"long", b"channel", b"time", b"not running"):
        assert frame(b"no " + body) in answers
    assert answers.count(b"ok ") > 500
    assert b"got 3*" in answers
