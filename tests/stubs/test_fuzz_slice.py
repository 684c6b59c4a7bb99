"""A slice of tests/benchmarks/fuzz_codecs.py: one verdict a line from the bench's decoder and both kits."""

from __future__ import annotations

import pytest

from harness.line import Go, LineError, Ok
from tests.benchmarks.fuzz_codecs import kept_bytes
from tests.benchmarks.fuzz_streams import conversation, corpus_lines, stream
from tests.benchmarks.fuzz_verdicts import Codecs, in_range, python_kit, verdict
from tests.firmware import build_reference
from tests.stubs.kit_builds import frame

SLICE_BYTES = 100_000
MET = {"crc", "form", "long", "Hi", "Go", "Back", "Tick", "At", "Put", "End", "Type", "No"}


@pytest.fixture(scope="module")
def real_lines(tmp_path_factory):
    return corpus_lines() + conversation(build_reference(tmp_path_factory.mktemp("reference")).links["lib"])


@pytest.mark.parametrize("seed", range(1001, 1006))
def test_every_line_has_one_verdict(kits, real_lines, seed):
    data = stream(seed, real_lines, SLICE_BYTES)
    codecs = Codecs(seed)
    answers = codecs.feed(data)
    assert kits["lockstep"]["c sanitized"].talk(data) == answers
    assert set(codecs.verdicts) >= MET


def test_memory_does_not_grow_with_what_came(real_lines):
    for data in (stream(2, real_lines, 2 * SLICE_BYTES), b"a" * 2 * SLICE_BYTES):
        kept, most = kept_bytes(data)
        assert kept < 4000
        assert most < 64000


@pytest.mark.parametrize(
    "number", [2**31 - 1, -(2**31) + 1, 2**31, -(2**31), 10**12, float("inf"), float("nan")]
)
def test_python_says_no_value_that_the_line_does_not_have(number):
    answer = bytearray()
    kit = python_kit(answer)
    kit.feed(frame(b"go 0"))
    answer.clear()
    kit.tell("figure", number)
    assert answer == frame(b"tell figure %d" % number if abs(number) < 2**31 else b"tell figure x")


def test_python_says_no_output_that_the_line_does_not_have():
    answer = bytearray()
    kit = python_kit(answer)
    kit.feed(frame(b"go 0"))
    kit.set_output(2, 2**31)
    answer.clear()
    kit.feed(frame(b"go 0"))
    assert answer == frame(b"ok 0 1=0 2=250 3=x")


@pytest.mark.parametrize(
    ("line", "event", "answer"),
    [
        (b"go 0*0BD0", Go(0), frame(b"no form")),
        (b"go 0*0BD0", LineError("crc"), frame(b"ok 0")),
        (b"go 0*0BD0", LineError("crc"), frame(b"no form")),
        (b"go 0*0BD0", Go(0), b""),
        (b"go 00*0BD0", Go(0), frame(b"ok 0")),
    ],
)
def test_two_verdicts_are_noticed(line, event, answer):
    """The check of the check."""
    with pytest.raises(AssertionError):
        verdict(line, event, answer)


@pytest.mark.parametrize(
    "event",
    [
        *(Go(2**32), Go(-1), Ok(0, ((1, 2**31),)), Ok(0, ((1, -(2**31)),))),
        *(Ok(0, ((2, 1), (1, 1))), Ok(0, ((100, 1),)), Ok(0, ((0, 1),))),
    ],
)
def test_a_number_out_of_range_is_noticed(event):
    """The check of the check."""
    assert not in_range(event)
