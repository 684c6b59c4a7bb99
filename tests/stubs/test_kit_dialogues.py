"""Both kits hold the same dialogues, byte for byte."""

from __future__ import annotations

import re

import pytest

from tests.stubs.kit_builds import TESTS, frame


def escaped(text: str) -> bytes:
    return re.sub(rb"\\x([0-9A-F]{2})", lambda m: bytes([int(m[1], 16)]), text.encode())


def dialogues() -> dict[str, list[tuple[bytes, bytes]]]:
    """Name to the exchanges: what is sent, what must be answered."""
    found: dict[str, list[list[bytes]]] = {}
    text = "".join(path.read_text() for path in sorted(TESTS.glob("dialogues*.txt")))
    for row in text.splitlines():
        if row.startswith("["):
            exchanges = found[row[1:-1]] = []
        elif row.startswith(">"):
            exchanges.append([frame(escaped(row[2:])), b""])
        elif row.startswith("!"):
            exchanges.append([escaped(row[2:]) + b"\n", b""])
        elif row.startswith("<"):
            exchanges[-1][1] += frame(escaped(row[2:]))
    return {name: [(sent, answer) for sent, answer in each] for name, each in found.items()}


DIALOGUES = dialogues()


@pytest.fixture(params=["python", "c library", "c sanitized"])
def kit_name(request):
    return request.param


@pytest.mark.parametrize("name", DIALOGUES)
def test_dialogue(kits, kit_name, name):
    kit = kits["wall" if name.endswith(" wall") else "lockstep"][kit_name]
    exchanges = DIALOGUES[name]
    whole = b"".join(sent for sent, _ in exchanges)
    kit.power()
    assert kit.talk(whole) == b"".join(answer for _, answer in exchanges)


@pytest.mark.parametrize("kit_name", ["python", "c library"], indirect=True)
@pytest.mark.parametrize("name", DIALOGUES)
def test_dialogue_line_by_line(kits, kit_name, name):
    kit = kits["wall" if name.endswith(" wall") else "lockstep"][kit_name]
    kit.power()
    assert [(sent, kit.talk(sent)) for sent, _ in DIALOGUES[name]] == DIALOGUES[name]


@pytest.mark.parametrize("kit_name", ["python", "c library"], indirect=True)
@pytest.mark.parametrize("name", DIALOGUES)
def test_dialogue_byte_by_byte(kits, kit_name, name):
    kit = kits["wall" if name.endswith(" wall") else "lockstep"][kit_name]
    kit.power()
    for sent, answer in DIALOGUES[name]:
        assert [kit.talk(bytes([byte])) for byte in sent[:-1]] == [b""] * (len(sent) - 1)
        assert kit.talk(sent[-1:]) == answer
