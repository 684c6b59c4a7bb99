"""Text from outside is harmless, figures read well."""

from __future__ import annotations

import io
import unicodedata

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.report.console import console
from harness.report.figures import clock, count, margin, number, wall
from harness.report.plain import plain
from harness.report.spark import LEVELS, PLAIN_LEVELS, spark

STEERING = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("flame lit", "flame lit"),
        ("\x1b[31mred\x1b[0m", r"\x1b[31mred\x1b[0m"),
        ("\x9b2J", r"\x9b2J"),
        ("\x1b]0;title\x07", r"\x1b]0;title\x07"),
        ("safe\u202eesrever", r"safe\u202eesrever"),
        ("\u2066in\u2069", r"\u2066in\u2069"),
        ("zero\u200bwidth\ufeff", r"zero\u200bwidth\ufeff"),
        ("a\nb\rc\td", r"a\nb\rc\td"),
        ("\x00\x7f\x08", r"\x00\x7f\x08"),
        ("\u2028line", r"\u2028line"),
        ("\udcff", r"\udcff"),
        ("\U000e0001tag", r"\U000e0001tag"),
        ("90 °C, Kessel größe, 温度", "90 °C, Kessel größe, 温度"),
        ("[bold]x[/bold] :smile:", "[bold]x[/bold] :smile:"),
    ],
)
def test_what_could_steer_a_terminal_is_written_out(text: str, shown: str) -> None:
    assert plain(text) == shown


@given(st.text(st.characters(codec=None)))
def test_nothing_that_steers_is_left(text: str) -> None:
    shown = plain(text)
    assert not {unicodedata.category(char) for char in shown} & STEERING
    assert plain(shown) == shown
    shown.encode()


@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=60))
def test_a_console_prints_it_as_it_is(text: str) -> None:
    out = io.StringIO()
    console(out, width=1000).print(plain(text), soft_wrap=True)
    assert out.getvalue() == plain(text) + "\n"


@pytest.mark.parametrize(
    ("t_ms", "shown"),
    [
        (0, "00:00.0"),
        (480_250, "08:00.3"),
        (480_249, "08:00.2"),
        (59_950, "01:00.0"),
        (59_949, "00:59.9"),
        (3_600_000, "60:00.0"),
        (7_261_000, "121:01.0"),
    ],
)
def test_bench_time(t_ms: int, shown: str) -> None:
    assert clock(t_ms) == shown


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (1.25, "s", "+1.25 s"),
        (-3.0, "degC", "-3 degC"),
        (0.0, "K", "0 K"),
        (-0.0, "K", "0 K"),
        (12345.678, "W", "+12346 W"),
        (0.012345, "%", "+0.01235 %"),
        (-0.0004, "s", "-4.000e-04 s"),
        (None, "s", "-"),
        (float("nan"), "s", "-"),
        (float("inf"), "s", "+inf s"),
        (float("-inf"), "s", "-inf s"),
        (2.0, "", "+2"),
    ],
)
def test_margins_carry_sign_and_unit(value: float | None, unit: str, shown: str) -> None:
    assert margin(value, unit) == shown


@given(st.floats(-1e5, 1e5))
def test_a_number_is_shown_to_four_digits(value: float) -> None:
    assert float(number(value)) == pytest.approx(value, rel=6e-4)


def test_nothing_has_no_sign() -> None:
    assert (number(-0.0), margin(-0.0, "s")) == ("0", "0 s")


def test_counts_and_wall_time() -> None:
    assert (count(1, "run"), count(0, "run"), wall(0.94), wall(75.4)) == ("1 run", "0 runs", "0.9 s", "75 s")


def test_a_signal_as_a_line() -> None:
    assert spark(np.arange(8.0), 8) == LEVELS
    assert spark(np.arange(8.0), 8, ascii_only=True) == PLAIN_LEVELS
    assert spark(np.array([1.0, np.nan, 2.0]), 3) == f"{LEVELS[0]} {LEVELS[-1]}"
    assert spark(np.full(5, np.nan), 3) == "   "
    assert spark(np.full(100, 4.0), 10) == LEVELS[0] * 10
    assert spark(np.array([]), 10) == ""
    spike = np.zeros(1000)
    spike[501] = 5.0
    assert spark(spike, 10, np.max).count(LEVELS[-1]) == 1
