"""Numbers with units: what is taken, what is refused with which words, and what always holds."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.quantity import (
    LARGEST,
    UNITS,
    Quantity,
    QuantityError,
    parse_as,
    parse_ms,
    parse_quantity,
)

SYMBOLS = st.sampled_from(sorted(UNITS))
NUMBERS = st.floats(-LARGEST, LARGEST, allow_subnormal=False)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("152 degF", "degC", 600 / 9),
        ("212 °F", "°C", 100.0),
        ("66 degC", "mdegC", 66000.0),
        ("32 degF", "degC", 0.0),
        ("25 %", "1", 0.25),
        ("25%", "permille", 250.0),
        ("5 gal", "L", 18.92705892),
        ("4 qt", "gal", 1.0),
        ("11 inH2O", "kPa", 2.73997801),
        ("30000 Btu/h", "kW", 8.79213210),
        ("2 degF/min", "K/min", 10 / 9),
        ("3.6 delta_degF", "K", 2.0),
        ("1 delta_degC", "K", 1.0),
        ("11 lb", "kg", 4.98951607),
        ("12 in", "m", 0.3048),
        ("2 kWh", "MJ", 7.2),
        ("8 L/min", "L/s", 8 / 60),
        ("+.5e1 s", "ms", 5000.0),
        ("1 h 30 min", "min", 90.0),
        ("20 min 5 s", "ms", 1_205_000.0),
        ("1 h 0 min 2.5 s", "s", 3602.5),
        ("2h 5s", "s", 7205.0),
    ],
)
def test_taken(text, unit, value):
    assert parse_as(text, unit.replace("°", "deg")) == pytest.approx(value, rel=1e-8, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "unit", "message"),
    [
        ("3 kW", "degC", "'3 kW' is a power; a temperature is wanted, such as '66 degC' or '152 degF'"),
        ("90 m", "ms", "'90 m' is a length; a time is wanted, such as '250 ms', '4 s' or '8 min'"),
        ("4 degC", "K", "'4 degC' is a temperature; a temperature difference is wanted: write '4 K'"),
        (
            "4 degF",
            "K",
            "'4 degF' is a temperature; a temperature difference is wanted: write '4 delta_degF'",
        ),
        (
            "5 K",
            "degC",
            "'5 K' is a temperature difference; a temperature is wanted, such as '66 degC' or '152 degF'",
        ),
        ("8", "ms", "'8' has no unit. Write one behind the number, such as '250 ms', '4 s' or '8 min'"),
        ("-500 degF", "degC", "'-500 degF' is below absolute zero, -273.15 degC"),
        ("1e13 s", "s", "'1e13 s' is beyond the largest number taken, 1e+12"),
        ("1e999 s", "s", "'1e999 s' is beyond the largest number taken, 1e+12"),
    ],
)
def test_refused_with_a_mend(text, unit, message):
    with pytest.raises(QuantityError) as caught:
        parse_as(text, unit)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    "text",
    [
        *[
            "",
            " ",
            "min",
            "nan s",
            "inf s",
            "-inf degC",
            "1,5 kW",
            "1:30 min",
            "0x10 s",
            "1_000 s",
            "5 5 s",
            "٣ s",
        ],
        *["8 min s", "1 h 90 min", "20 min 5 h", "1 min 2 min", "1 h 2 L", "-1 h 5 min", "5 s\n5 s", "\x00"],
    ],
)
def test_no_quantity(text):
    with pytest.raises(QuantityError, match=r"Write one number and one unit|has no unit"):
        parse_quantity(text)


@pytest.mark.parametrize(
    ("wrong", "meant"),
    [
        ("C", "degC"),
        ("f", "degF"),
        ("Celsius", "degC"),
        ("degc", "degC"),
        ("df", "delta_degF"),
        ("sec", "s"),
        ("minutes", "min"),
        ("hrs", "h"),
        ("l", "L"),
        ("litres", "L"),
        ("gallons", "gal"),
        ("lbs", "lb"),
        ("KW", "kW"),
        ("btu/hr", "Btu/h"),
        ("gpm", "gal/min"),
        ("percent", "%"),
        ("degF/mn", "degF/min"),
        ("inh20", "inH2O"),
        ("\u00a0min", "min"),
    ],
)
def test_nearest_unit_is_offered(wrong, meant):
    with pytest.raises(QuantityError, match=f"is not a known unit, did you mean '{meant}'"):
        parse_quantity(f"3 {wrong}")


@pytest.mark.parametrize("strange", ["cfm", "furlong", "Gal\x1b[31m" * 9])
def test_a_strange_unit_is_shown_harmlessly(strange):
    with pytest.raises(QuantityError) as caught:
        parse_quantity(f"3 {strange}")
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 160


@pytest.mark.parametrize(
    ("text", "ms"),
    [
        ("250 ms", 250),
        ("4.1 s", 4100),
        ("0 s", 0),
        ("8 min", 480_000),
        ("0.1 min", 6000),
        ("72 h", 259_200_000),
    ],
)
def test_times_are_whole_milliseconds(text, ms):
    assert parse_ms(text) == ms


@pytest.mark.parametrize(("text", "said"), [("-1 s", "negative"), ("0.4 ms", "whole number of milliseconds")])
def test_times_that_no_bench_can_keep(text, said):
    with pytest.raises(QuantityError, match=said):
        parse_ms(text)


@given(NUMBERS, SYMBOLS)
def test_written_and_read_again(value, symbol):
    quantity = Quantity(value, symbol)
    if quantity.dimension == "temperature" and quantity.to("degC") < -273.15:
        with pytest.raises(QuantityError, match="absolute zero"):
            parse_quantity(str(quantity))
    else:
        assert parse_quantity(str(quantity)) == quantity


@given(st.floats(-1e9, 1e9), SYMBOLS, st.data())
def test_there_and_back(value, symbol, data):
    dimension = UNITS[symbol].dimension
    other = data.draw(st.sampled_from([s for s, unit in UNITS.items() if unit.dimension == dimension]))
    back = Quantity(Quantity(value, symbol).to(other), other).to(symbol)
    # The offsets of the Fahrenheit scales cost the digits above 32; they are at most 32000 of any unit here.
    assert math.isclose(back, value, rel_tol=1e-12, abs_tol=1e-9 if UNITS[symbol].offset == 0 else 1e-7)


@given(SYMBOLS, SYMBOLS)
def test_only_like_converts_into_like(one, other):
    if UNITS[one].dimension == UNITS[other].dimension:
        Quantity(1.0, one).to(other)
    else:
        with pytest.raises(QuantityError, match="is wanted"):
            Quantity(1.0, one).to(other)


@given(st.text(max_size=60))
def test_any_text_is_a_quantity_or_a_message(text):
    said = ""
    try:
        quantity = parse_quantity(text)
    except QuantityError as error:
        said = str(error)
    else:
        assert math.isfinite(quantity.value)
        assert quantity.unit in UNITS
    assert said == "" or said.isprintable()
