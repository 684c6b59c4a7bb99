"""Both kits judge the lines of the one corpus as harness/line/corpus.txt says."""

from __future__ import annotations

import re

import pytest

from tests.stubs.kit_builds import STUBS, frame

CORPUS = STUBS.parent / "harness" / "line" / "corpus.txt"
FAULTS = {frame(b"no " + reason): reason.decode() for reason in (b"crc", b"form", b"long")}


def rows() -> list[tuple[str, str, bytes]]:
    """(verdict, who says it, line) of each row."""
    found = []
    for row in CORPUS.read_text().splitlines():
        if row and not row.startswith("#"):
            verdict, side, line = row.split("\t")[:3]
            data = re.sub(rb"\\x([0-9A-F]{2})", lambda m: bytes([int(m[1], 16)]), line.encode())
            found.append((verdict, side, data))
    return found


# The bench refuses its own verbs when a device says them; that is no matter of a device.
ROWS = [row for row in rows() if row[:2] != ("form", "device")]


def expected(verdict: str, side: str) -> str:
    """What a device makes of a row: a device's own words are no message to it."""
    return "form" if verdict == "ok" and side == "device" else verdict


def judged(answer: bytes) -> str:
    """The verdict that an answer shows."""
    return FAULTS.get(answer, "ok")


def test_corpus_covers_every_verdict():
    assert {verdict for verdict, _, _ in ROWS} == {"ok", "crc", "form", "long", "none"}


@pytest.mark.parametrize("kit_name", ["python", "c library"])
def test_kit_judges_as_the_corpus(kits, kit_name):
    kit = kits["lockstep"][kit_name]
    wrong = []
    for verdict, side, line in ROWS:
        kit.power()
        answer = kit.talk(line + b"\n")
        silent = verdict == "none" or (verdict == "ok" and side == "both")
        if silent != (answer == b"") or (not silent and judged(answer) != expected(verdict, side)):
            wrong.append((verdict, side, line, answer))
    assert wrong == []


def test_sanitized_kit_answers_the_whole_corpus_like_python(kits):
    whole = b"".join(line + b"\n" for _, _, line in ROWS)
    kits["lockstep"]["python"].power()
    assert kits["lockstep"]["c sanitized"].talk(whole) == kits["lockstep"]["python"].talk(whole)


@pytest.mark.parametrize("kit_name", ["python", "c library"])
def test_each_line_is_judged_the_same_after_any_other(kits, kit_name):
    """A fault leaves nothing behind: the answer to `end` after each row is the answer to `end` alone."""
    kit = kits["lockstep"][kit_name]
    for _, _, line in ROWS:
        kit.power()
        kit.talk(line + b"\n")
        assert kit.talk(frame(b"end")).startswith((b"say end", b"ok "))
