"""From a scenario's disturbance of the line to the faults of a hostile link."""

from __future__ import annotations

from dataclasses import replace

import pytest

from harness.bench.line_upsets import LINE_KINDS, LineUpsets, faults, like_tell, link_for
from harness.line import LineError, No, Ok, Tell, encode
from harness.links.hostile import Fault, HostileLink, Way
from harness.scenario import BENCH_KINDS, Disturbance, Scenario
from tests.bench.memory_link import MemoryLink

BOTH = (Way.TO_DEVICE, Way.TO_BENCH)


@pytest.mark.parametrize(
    ("kind", "place", "sizes", "what", "ways", "every", "lines"),
    [
        ("line-corrupted", None, {"every": 20.0}, "flipped", BOTH, 20, True),
        ("line-corrupted", "to-bench", {"every_bytes": 500.0}, "flipped", BOTH[1:], 500, False),
        ("line-lost", "to-device", {"every": 1.0}, "lost", BOTH[:1], 1, True),
        ("line-repeated", None, {"every": 3.0}, "repeated", BOTH, 3, True),
        ("late-answers", None, {"every": 2.0}, "late", BOTH[1:], 2, True),
    ],
)
def test_the_last_of_each_so_many_is_struck(kind, place, sizes, what, ways, every, lines):
    made = faults(Disturbance(kind, place=place, sizes=sizes))
    assert made == [Fault(what, way, every - 1, every, lines) for way in ways]


def test_every_kind_of_the_line_can_be_made_with_its_defaults():
    assert {kind for kind in BENCH_KINDS if kind.startswith("l")} == LINE_KINDS | {"line-silence"}
    for kind in LINE_KINDS:
        for size in BENCH_KINDS[kind].sizes:
            for place in (None, *BENCH_KINDS[kind].places):
                assert faults(Disturbance(kind, place=place, sizes={size.name: size.default}))


def test_only_a_link_that_needs_it_is_wrapped():
    link = MemoryLink()
    plain = Scenario("f", "", "T", "", "p", 1000, disturbances=(Disturbance("power-cut"),))
    assert link_for(plain, link) is link
    hostile = link_for(replace(plain, disturbances=(Disturbance("line-lost"),)), link)
    assert isinstance(hostile, HostileLink)
    assert (hostile.inner, hostile.text) == (link, "memory")


def test_the_end_tells_how_often_it_struck():
    lost = []
    link = HostileLink(MemoryLink())
    upsets = LineUpsets(link, lost.append)
    upsets.begin(7, Disturbance("line-lost", sizes={"every": 2.0}))
    for _ in range(5):
        link.write(b"what\n")
        link.read(0.0)
    assert upsets.end(7) == 3  # Two of the five questions, and one of the three answers.
    assert lost == [encode(No("form"))]


@pytest.mark.parametrize("place", range(5))
def test_a_figure_is_known_with_any_byte_damaged(place):
    line = encode(Tell("stage", 3))
    assert like_tell(line[:place] + bytes([line[place] ^ 0x10]) + line[place + 1 :])


@pytest.mark.parametrize("line", [encode(Ok(1, ((1, 0),))), encode(No("crc")), LineError("crc", b"").excerpt])
def test_other_lines_are_no_figures(line):
    assert not like_tell(line)
