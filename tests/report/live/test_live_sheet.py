"""The screen of a run that goes on: it fits, and it says what matters first."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from harness.bench.result import Event
from harness.report.live.known import Known
from harness.report.live.screen import KEYS, sheet
from harness.scenario import parse_scenario

TEXT = """
title = "A tank under watch"
plant = "herms-gas"
length = "10 min"
[panel]
run = true
mash_setpoint = "66 degC"
[[disturbance]]
kind = "flame-lost"
at = "4 min"
[[disturbance]]
kind = "pump-stops"
when = "liquor > 50 degC"
for = "1 min"
[[assertion]]
title = "the liquor stays cool"
always = "40 degC > liquor and liquor > 5 degC"
[[assertion]]
title = "gas shut soon"
after = "falls(flame)"
within = "4 s"
expect = "not gas_valve"
[[assertion]]
title = "the mash is never scorched"
never = "in.coil_outlet > 76 degC or liquor > 95 degC"
"""
UNITS = {
    "liquor": "degC", "flame": "bool", "gas_valve": "bool", "unburned_gas": "%",
    "in.liquor": "degC", "in.coil_outlet": "degC", "in.run": "bool", "in.mash_setpoint": "degC",
    "out.gas_valve": "bool", "out.duty": "permille", "bench_late": "ms", "answer_time": "ms",
}  # fmt: skip


def rows(until_s: int, liquor: float = 20.0) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    times = np.arange(0, until_s * 1000, 250, dtype=np.int64)
    values = np.zeros((len(times), len(UNITS)))
    values[:, 0] = values[:, 4] = np.linspace(20.0, liquor, len(times))
    values[:, 5], values[:, 6], values[:, 7] = np.nan, 1.0, 66.0
    values[:, 1] = values[:, 2] = values[:, 8] = 1.0
    values[:, 9], values[:, 10], values[:, 11] = 640.0, 0.3, 4.0
    return times, values


@pytest.fixture
def known() -> Known:
    made = Known(parse_scenario(TEXT, "watched.toml"), UNITS)
    made.chunk(*rows(60))
    return made


def text(known: Known, width: int = 80, height: int = 24, *, ascii_only: bool = False) -> str:
    return "\n".join(line.plain for line in sheet(known, width, height, ascii_only=ascii_only))


def test_all_that_is_known_is_on_the_sheet(known: Known) -> None:
    known.event(Event(1_500, "device", "tell stage 3"))
    shown = text(known)
    assert "A tank under watch" in shown
    assert "00:59.8 of 10:00.0, 09:00.3 left; late by 0.3 ms, answer in 4.0 ms" in shown
    assert "20.00 °C  < 40, > 5, < 95" in shown
    assert "coil_outlet    no reading  < 76" in shown
    assert "gas_valve on" in shown
    assert "duty 640 permille" in shown
    assert "set  run on  mash_setpoint 66 °C" in shown
    assert "next in 03:00.3 flame-lost   and 1 more" in shown
    assert "0 broken, 1 waits, 2 holds" in shown
    assert "00:01.5 device      tell stage 3" in shown
    assert shown.endswith(KEYS)


def test_a_break_stands_first_with_its_margin(known: Known) -> None:
    times, values = rows(120, liquor=50.0)
    known.chunk(times[240:], values[240:])
    lines = text(known).split("\n")
    judged = next(at for at, line in enumerate(lines) if line.startswith("assertions"))
    assert lines[judged].endswith("1 broken, 1 waits, 1 holds")
    assert lines[judged + 1].split()[:2] == ["x", "broken"]
    assert "the liquor stays cool" in lines[judged + 1]


def test_what_has_begun_is_no_longer_ahead(known: Known) -> None:
    assert [at_ms for at_ms, _ in known.upcoming()] == [240_000, None]
    known.event(Event(30_000, "disturbance", "pump-stops starts"))
    assert known.upcoming() == [(240_000, "flame-lost")]
    for number in range(1000):
        known.event(Event(30_000 + number, "device", "say busy"))
    assert known.upcoming() == [(240_000, "flame-lost")]


def test_a_small_terminal_still_tells_how_it_stands_and_how_to_stop(known: Known) -> None:
    shown = text(known, 20, 5).splitlines()
    assert shown[1].startswith("00:59.8 of 10:00.0")
    assert shown[3].startswith("assertions  0 broke")
    assert shown[4] == "m mark  s stop"
    unheard = sheet(known, 20, 5, ascii_only=False, keys=False)
    assert unheard[4].plain == "Ctrl-C stops safely"


def test_only_what_a_terminal_knows_is_drawn(known: Known) -> None:
    known.event(Event(1_500, "device", "say \x1b[31m ünicode"))
    shown = text(known, ascii_only=True)
    assert "\x1b" not in shown
    assert "20.00 degC" in shown
    assert [char for char in shown if not char.isascii()] == ["ü"]


@given(st.integers(20, 200), st.integers(5, 70), st.integers(0, 30))
def test_it_fits_any_terminal(width: int, height: int, said: int) -> None:
    made = Known(parse_scenario(TEXT, "watched.toml"), UNITS)
    made.chunk(*rows(30))
    for number in range(said):
        made.event(Event(number * 1000, "device", f"tell stage {number} " + "x" * number * 9))
    lines = sheet(made, width, height, ascii_only=False)
    assert len(lines) == height
    assert max(line.cell_len for line in lines) <= width
    assert lines[-1].plain in KEYS
    assert any(line.plain.startswith("assertions  0 broken"[: width - 1]) for line in lines)
    if height >= 16 and width >= 40 and said:
        assert any(f"tell stage {said - 1} " in line.plain for line in lines)


def test_old_rows_are_let_go() -> None:
    made = Known(parse_scenario(TEXT, "watched.toml"), UNITS)
    times, values = rows(20)
    for turn in range(60):
        made.chunk(times + turn * 20_000, values)
    assert len(made._rows) <= 17
    assert len(made.curve("liquor")) == 240
    assert not len(made.curve("no-such"))


def test_a_scenario_file_may_be_broken_by_no_signal(tmp_path: Path) -> None:
    """Assertions over signals that are not recorded are told where the run begins; nothing is drawn."""
    units = {"liquor": "degC"}
    with pytest.raises(Exception, match="flame"):
        Known(parse_scenario(TEXT, "watched.toml"), units)
