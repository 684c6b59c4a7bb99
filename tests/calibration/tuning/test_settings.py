"""Forms and units of settings: there and back."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.calibration.tuning.settings import Settings, from_series, parallel, series
from harness.calibration.tuning.units import (
    DEGREES,
    DUTIES,
    FORMS,
    TIMES,
    FirmwareUnits,
    NoSuchFormError,
    ideal_of,
)

positive = st.floats(1e-3, 1e4)
settings = st.builds(Settings, positive, positive, st.one_of(st.just(0.0), positive))


@given(settings)
def test_series_and_back(ideal: Settings) -> None:
    made = series(ideal)
    if made is None:
        assert ideal.integral_s < 4.0 * ideal.derivative_s
        return
    back = from_series(made.gain, made.integral_s, made.derivative_s)
    assert back.gain == pytest.approx(ideal.gain)
    assert back.integral_s == pytest.approx(ideal.integral_s)
    assert back.derivative_s == pytest.approx(ideal.derivative_s)


@given(settings, st.floats(0.01, 100.0))
def test_all_forms_answer_alike(ideal: Settings, w: float) -> None:
    """The frequency response is the controller's, however it is written."""
    s = 1j * w
    wanted = ideal.gain * (1.0 + 1.0 / (ideal.integral_s * s) + ideal.derivative_s * s)
    sum_of = parallel(ideal)
    assert sum_of.proportional + sum_of.integral / s + sum_of.derivative * s == pytest.approx(wanted)
    one = series(ideal)
    if one is not None:
        product = one.gain * (1.0 + 1.0 / (one.integral_s * s)) * (1.0 + one.derivative_s * s)
        assert product == pytest.approx(wanted, rel=1e-6)


@given(
    settings,
    st.builds(
        FirmwareUnits,
        st.sampled_from(["ideal", "band"]),
        st.sampled_from(sorted(DEGREES)),
        st.sampled_from(sorted(DUTIES)),
        st.sampled_from(sorted(TIMES)),
    ),
)
def test_firmware_units_and_back(ideal: Settings, units: FirmwareUnits) -> None:
    typed = {figure.name: figure.value for figure in units.figures(ideal)}
    back = ideal_of(typed, units)
    assert back.gain == pytest.approx(ideal.gain)
    assert back.integral_s == pytest.approx(ideal.integral_s)
    assert back.derivative_s == pytest.approx(ideal.derivative_s)


def typed(units: FirmwareUnits) -> list[tuple[str, str, str]]:
    ideal = Settings(0.25, 2400.0, 60.0)
    return [(figure.name, f"{figure.value:.6g}", figure.unit) for figure in units.figures(ideal)]


def test_figures_by_hand() -> None:
    """0.25 of full heat per kelvin is 250 permille/degC, 13.9 %/degF, a band of 4 K or 7.2 degF."""
    assert typed(FirmwareUnits("ideal", "degC", "permille", "ms")) == [
        ("gain", "250", "permille/degC"),
        ("integral time", "2.4e+06", "ms"),
        ("derivative time", "60000", "ms"),
    ]
    assert typed(FirmwareUnits("band", "degF", "%", "min")) == [
        ("proportional band", "7.2", "degF"),
        ("integral time", "40", "min"),
        ("derivative time", "1", "min"),
    ]
    assert typed(FirmwareUnits("parallel", "degC", "0-255", "s")) == [
        ("proportional", "63.75", "of 255 per degC"),
        ("integral", "0.0265625", "of 255 per degC per s"),
        ("derivative", "3825", "of 255 per degC times s"),
    ]
    assert typed(FirmwareUnits("parallel", "degF", "1", "min"))[1] == (
        "integral", "0.00347222", "/degF per min",
    )  # fmt: skip


def test_what_cannot_be_written_is_refused() -> None:
    with pytest.raises(NoSuchFormError, match="four derivative times"):
        FirmwareUnits("series").figures(Settings(1.0, 30.0, 10.0))
    with pytest.raises(NoSuchFormError, match="heats"):
        FirmwareUnits("band").figures(Settings(-1.0, 30.0))
    assert set(FORMS) == {"ideal", "series", "parallel", "band"}


@pytest.mark.parametrize("figures", [(0.0, 1.0, 0.0), (inf, 1.0, 0.0), (1.0, 0.0, 0.0), (1.0, 1.0, -1.0)])
def test_settings_out_of_range_are_refused(figures: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match=r"is out of range\. Give"):
        Settings(*figures)


def test_a_kind_is_named_by_its_actions() -> None:
    assert [Settings(1.0, i, d).kind for i, d in ((inf, 0.0), (9.0, 0.0), (inf, 1.0), (9.0, 1.0))] == [
        "P", "PI", "PD", "PID",
    ]  # fmt: skip
