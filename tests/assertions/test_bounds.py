"""Fixed bounds that assertions put on signals."""

from __future__ import annotations

import pytest

from harness.assertions import AssertionSpec, Bound, fixed_bounds

UNITS = {"liquor": "degC", "in.mash": "degC", "flame": "bool", "volume": "L"}


@pytest.mark.parametrize(
    ("key", "text", "bounds"),
    [
        ("always", "liquor < 76 degC", [("liquor", 76.0, True)]),
        ("always", "76 degC > liquor", [("liquor", 76.0, True)]),
        ("always", "liquor < 167 degF", [("liquor", 75.0, True)]),
        ("never", "liquor > 76 degC", [("liquor", 76.0, True)]),
        ("never", "liquor < 5 degC", [("liquor", 5.0, False)]),
        ("always", "not (liquor > 76 degC)", [("liquor", 76.0, True)]),
        ("always", "5 degC < liquor < 76 degC", [("liquor", 5.0, False), ("liquor", 76.0, True)]),
        ("always", "liquor < 76 degC and volume > 2 L", [("liquor", 76.0, True), ("volume", 2.0, False)]),
        ("never", "liquor > 76 degC or volume < 2 L", [("liquor", 76.0, True), ("volume", 2.0, False)]),
        ("always", "liquor < 76 degC or not flame", []),
        ("never", "liquor > 76 degC and flame", []),
        ("always", "in.mash < liquor", []),
        ("always", "flame", []),
        ("sometime", "liquor > 76 degC", []),
        ("always", "no_such < 76 degC", []),
    ],
)
def test_bounds_that_hold_by_themselves(
    key: str, text: str, bounds: list[tuple[str, float, bool]]
) -> None:
    found = fixed_bounds([AssertionSpec(title="x", basis="", **{key: text})], UNITS)
    assert [(one.signal, pytest.approx(one.value), one.upper) for one in found] == bounds


def test_the_same_bound_is_told_once() -> None:
    spec = AssertionSpec(title="x", basis="", always="liquor < 76 degC")
    assert fixed_bounds([spec, spec], UNITS) == [Bound("liquor", 76.0, True)]
