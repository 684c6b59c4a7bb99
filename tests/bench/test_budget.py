"""The bytes of an exchange against the baud rate: before a run, not in the middle of it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.bench.budget import budget
from harness.bench.channels import INT32_MAX, channel_unit
from harness.bench.pace import in_wall_pace, line_notes
from harness.errors import FileMistakesError
from harness.line import At, Channel, Got, Identity, Ok, Put, encode
from harness.scenario import Disturbance, parse_scenario
from tests.bench.memory_link import MemoryLink

SCENARIO = parse_scenario(
    'title = "t"\nplant = "electric-kettle"\nlength = "1 min"\npace = "wall"\nexchange_every = "10 ms"\n'
    '[[assertion]]\ntitle = "a"\nalways = "kettle < 90 degC"\n',
    "own.toml",
)
UNITS = ("mdegC", "mohm", "adc10", "bool", "permille", "count", "ms")
IDENTITY = Identity(
    "d", "1", tuple(Channel(n, f"in{n}", "mdegC") for n in range(1, 7)), (Channel(1, "relay", "bool"),)
)


def link_at(baud):
    link = MemoryLink()
    link.baud = baud
    return link


def test_ten_bits_a_byte_at_the_longest():
    """at 4294967295 and six of ` 1=9999999`, ok 4294967295 1=1; each with `*HHHH` and LF."""
    cost = budget(9600, IDENTITY, IDENTITY.inputs)
    assert (cost.to_device, cost.to_bench) == (13 + 60 + 6, 13 + 4 + 6)
    assert cost.exchange_ms == pytest.approx(102 * 10 / 9.6)
    assert [cost.baud_for(ms) for ms in (200, 107, 106, 12, 1)] == [9600, 9600, 19_200, 115_200, 1_020_000]


def longest(channel):
    unit = channel_unit(channel.unit)
    return 9_999_999 if unit.high == INT32_MAX else unit.high


@given(st.lists(st.sampled_from(UNITS), max_size=9), st.lists(st.sampled_from(UNITS), max_size=8))
def test_it_is_what_the_codec_writes(inputs, outputs):
    ins = tuple(Channel(n, f"i{n}", unit) for n, unit in enumerate(inputs, 1))
    outs = tuple(Channel(n, f"o{n}", unit) for n, unit in enumerate(outputs, 1))
    cost = budget(9600, Identity("d", "1", ins, outs), ins)
    at = encode(At(2**32 - 1, tuple((c.number, longest(c)) for c in ins)))
    ok = encode(Ok(2**32 - 1, tuple((c.number, longest(c)) for c in outs)))
    assert (cost.to_device, cost.to_bench) == (len(at), len(ok))


def test_what_does_not_fit_one_line_goes_by_put():
    ins = tuple(Channel(n, f"i{n}", "mdegC") for n in range(1, 25))
    cost = budget(9600, Identity("d", "1", ins, ()), ins)
    halves = [tuple((c.number, 9_999_999) for c in part) for part in (ins[:9], ins[9:17], ins[17:])]
    sent = encode(At(2**32 - 1, halves[0])) + encode(Put(halves[1])) + encode(Put(halves[2]))
    assert cost.to_device == len(sent)
    assert cost.to_bench >= len(encode(Ok(2**32 - 1, ()))) + 2 * len(encode(Got(8)))


def test_a_line_that_is_too_slow_is_refused_with_the_mend():
    with pytest.raises(FileMistakesError) as refused:
        tuple(line_notes(SCENARIO, link_at(9600), IDENTITY, IDENTITY.inputs))
    assert str(refused.value) == (
        "own.toml: wall pace: an exchange is up to 79 bytes to the device and 23 back, 106.2 ms at 9600 "
        'baud, and one is due each 10 ms. Give exchange_every "107 ms" or more, or set port and firmware to '
        "?baud=115200."
    )


@pytest.mark.parametrize(("every_ms", "fits"), [(106, False), (107, True)])
def test_the_mend_mends(every_ms, fits):
    scenario = replace(SCENARIO, exchange_every_ms=every_ms)
    try:
        notes = tuple(line_notes(scenario, link_at(9600), IDENTITY, IDENTITY.inputs))
    except FileMistakesError:
        assert not fits
    else:
        assert fits
        assert notes == ()


def test_in_lockstep_pace_it_is_a_note():
    lockstep = replace(SCENARIO, pace="lockstep", exchange_every_ms=250)
    notes = tuple(line_notes(lockstep, link_at(9600), IDENTITY, IDENTITY.inputs))
    assert notes == ("the line takes up to 26 s of the run: 102 bytes an exchange at 9600 baud",)
    assert tuple(line_notes(lockstep, link_at(None), IDENTITY, IDENTITY.inputs)) == ()


def test_an_emulator_that_forgets_is_told_where_the_power_fails():
    link = link_at(None)
    link.forgets = True
    assert tuple(line_notes(SCENARIO, link, IDENTITY, IDENTITY.inputs)) == ()
    cut = replace(SCENARIO, disturbances=(Disturbance("power-cut", at_ms=500),))
    (note,) = line_notes(cut, link, IDENTITY, IDENTITY.inputs)
    assert "has no EEPROM" in note
    assert "play this scenario over atmega:" in note
    link.forgets = False
    assert tuple(line_notes(cut, link, IDENTITY, IDENTITY.inputs)) == ()


@pytest.mark.parametrize(
    ("device", "opened"),
    [
        ("builtin", "builtin:wall"),
        ("builtin:degF", "builtin:degF,wall"),
        ("builtin:wall", "builtin:wall"),
        ("builtin:degF,wall", "builtin:degF,wall"),
        ("run:./fw", "run:./fw"),
        ("atmega:fw.elf", "atmega:fw.elf,wall"),
        ("atmega:fw.elf,wall", "atmega:fw.elf,wall"),
        ("atmega:build/firewall", "atmega:build/firewall,wall"),
        ("atmega:", "atmega:"),
    ],
)
def test_a_device_that_the_bench_plays_keeps_the_pace_that_is_played(device, opened):
    assert in_wall_pace(device) == opened
