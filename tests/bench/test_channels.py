"""Wire values and recorded values of a channel."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.bench.channels import channel_unit

UNITS = ["mdegC", "mdegF", "mohm", "uV", "bool", "permille", "count", "ms", "adc10"]


@pytest.mark.parametrize(
    ("unit", "value", "wire"),
    [
        ("mdegC", 66.7, 66700),
        ("mdegC", -0.0005, -1),  # halves away from zero
        ("mdegF", 100.0, 212000),  # 100 degC is 212 degF
        ("mdegF", -40.0, -40000),  # both scales meet at -40
        ("mohm", 138.5055, 138506),  # Pt100 at 100 degC, IEC 60751
        ("bool", 1.0, 1),
        ("permille", 250.0, 250),
        ("adc10", 1023.0, 1023),
    ],
)
def test_wire_values(unit: str, value: float, wire: int) -> None:
    assert channel_unit(unit).wire(value) == wire


@given(st.sampled_from(UNITS), st.integers(-200_000, 200_000))
def test_what_is_sent_is_what_is_recorded(unit: str, wire: int) -> None:
    meaning = channel_unit(unit)
    assert meaning.wire(wire * meaning.scale + meaning.offset) == wire


def test_converter_counts_are_bounded_by_their_bits() -> None:
    assert (channel_unit("adc12").low, channel_unit("adc12").high) == (0, 4095)
