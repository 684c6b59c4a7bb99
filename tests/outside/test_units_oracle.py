"""The table of units against pint, a general units library, and against printed factors."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.quantity import UNITS, Quantity

REGISTRY = pint.UnitRegistry(on_redefinition="ignore")
REGISTRY.define("mdegC = 1e-3 kelvin; offset: 273.15")
REGISTRY.define("mdegF = 1e-3 * 5 / 9 kelvin; offset: 255.3722222222222")

# Where the other library knows the unit by another name. K is a difference here.
NAMES = {
    "K": "delta_degC",
    "mK": "millikelvin",
    "gal": "gallon",
    "qt": "quart",
    "Btu": "Btu_it",
    "Btu/h": "Btu_it/hour",
    "in": "inch",
    "%": "percent",
    "1": "dimensionless",
    "gal/min": "gallon/min",
    "h": "hour",
    "L": "liter",
    "K/min": "delta_degC/min",
    "K/s": "delta_degC/s",
    "K/h": "delta_degC/hour",
    "degC/min": "delta_degC/min",
    "degC/s": "delta_degC/s",
    "degC/h": "delta_degC/hour",
    "degF/min": "delta_degF/min",
    "degF/s": "delta_degF/s",
    "degF/h": "delta_degF/hour",
}
PAIRS = [(a, b) for a in UNITS for b in UNITS if UNITS[a].dimension == UNITS[b].dimension]


@given(st.floats(-1e6, 1e6), st.sampled_from(PAIRS))
def test_conversions_agree(value, pair):
    ours = Quantity(value, pair[0]).to(pair[1])
    theirs = REGISTRY.Quantity(value, NAMES.get(pair[0], pair[0])).to(NAMES.get(pair[1], pair[1])).magnitude
    # The other library goes through kelvin, so the scales' offset limits what can be compared.
    assert ours == pytest.approx(theirs, rel=1e-9, abs=1e-7 if "mdeg" not in "".join(pair) else 1e-3)


@pytest.mark.parametrize("one", UNITS)
def test_dimensions_agree(one):
    """Units of one dimension are of one dimension there too; temperatures and differences share theirs."""
    base = next(symbol for symbol in UNITS if UNITS[symbol].dimension == UNITS[one].dimension)
    assert REGISTRY(NAMES.get(one, one)).check(REGISTRY(NAMES.get(base, base)).dimensionality)


@pytest.mark.parametrize(
    ("value", "unit", "into", "printed", "digits"),
    [
        # NIST Special Publication 811 (2008), appendix B.8, printed factors.
        (1, "gal", "L", 3.785412, 1e-6),
        (1, "qt", "L", 0.9463529, 1e-7),
        (1, "lb", "kg", 0.4535924, 1e-7),
        (1, "Btu", "J", 1055.056, 1e-6),
        (1, "Btu/h", "W", 0.2930711, 2e-7),
        (1, "inH2O", "Pa", 249.0889, 1e-6),
        (1, "psi", "kPa", 6.894757, 1e-6),
        (1, "ft", "m", 0.3048, 0),
        (1, "kWh", "MJ", 3.6, 0),
        (1, "gal/min", "L/min", 6.309020e-5 * 60_000, 1e-6),
    ],
)
def test_printed_factors(value, unit, into, printed, digits):
    assert Quantity(value, unit).to(into) == pytest.approx(printed, rel=digits or 1e-12)
