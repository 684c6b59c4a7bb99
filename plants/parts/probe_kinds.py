"""Kinds of temperature probe: what a person may choose, and the electronics that come of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from plants.kernel.describe import Choice, Parameter
from plants.sensors.circuit import Divider, lead_error
from plants.sensors.inputs import CoupleInput, Curve, DigitalInput, Input, ResistanceInput
from plants.sensors.ntc import Beta, fitted
from plants.sensors.platinum import PT100, PT1000, other_curve
from plants.sensors.response import SHEATHS, Sheath
from plants.sensors.thermocouple import J, K, T
from plants.sensors.tolerance import COUPLES, DIGITAL, PLATINUM, Tolerance

_PLATINUM = {"pt100": PT100, "pt1000": PT1000}
_COUPLES = {"k": K, "j": J, "t": T}
KINDS = (*_PLATINUM, *_COUPLES, "ntc", "ntc-steinhart", "digital")

_CLASSES: dict[str, dict[str, Tolerance]] = {
    **dict.fromkeys(_PLATINUM, PLATINUM),
    **{kind: COUPLES[couple.letter] for kind, couple in _COUPLES.items()},
    "digital": {"sheet": DIGITAL},
}

STEINHART = fitted((0.0, 32128.0), (25.0, 9814.0), (50.0, 3542.0))
"""A 10 kohm part by the table in a laser controller's manual."""

_BETAS = (3950.0, 3435.0)
"""Two usual constants of 10 kohm parts, easily taken for each other."""


def _has_resistance(kinds: Sequence[str]) -> bool:
    return any(kind in _PLATINUM or kind.startswith("ntc") for kind in kinds)


def choices(*names: str, kinds: tuple[str, ...] = KINDS) -> tuple[Choice, ...]:
    """What can be chosen for the temperature probes called `names`; the first of `kinds` is the default."""
    classes = ("none", *dict.fromkeys(name for kind in kinds for name in _CLASSES.get(kind, {})))
    each = [
        choice
        for name in names
        for choice in (
            Choice(f"{name}_kind", kinds, "assumed", f"sensor of the {name} probe"),
            Choice(
                f"{name}_class", classes, "IEC 60751, IEC 60584-1, data sheet",
                f"tolerance of the {name} probe: AA A B platinum, 1 2 thermocouple, sheet digital",
            ),
            Choice(
                f"{name}_sheath", ("stated", *SHEATHS), "a maker's table, t90 in water at 0.2 m/s",
                f"lag and diameter of the {name} probe: {name}_lag with probe_diameter, or a bare sheath",
            ),
        )
    ]  # fmt: skip
    if not _has_resistance(kinds):
        return tuple(each)
    wires = Choice(
        "lead_wires", ("2", "3", "4"), "assumed",
        "wires to resistance sensors: both leads, their difference, or nothing is read with the sensor",
    )  # fmt: skip
    side = Choice(
        "divider_side", ("sensor-low", "sensor-high"), "assumed", "where sensors sit in their dividers"
    )
    return (*each, wires, side)


_RESISTANCE_PARAMETERS = (
    Parameter("lead_resistance", "ohm", 0.0, 0.0, 20.0, "assumed", "of one lead to a resistance sensor"),
    Parameter(
        "lead_mismatch", "ohm", 0.0, 0.0, 5.0, "assumed", "by which the leads differ (counts with 3 wires)"
    ),
    Parameter("measuring_current", "mA", 0.0, 0.0, 10.0, "assumed", "through resistance sensors: warms them"),
    Parameter(
        "dissipation", "W/K", 0.02, 0.0005, 1.0, "assumed",
        "that warms a resistance sensor by a kelvin where it sits",
    ),
    Parameter("ntc_r25", "ohm", 10e3, 100.0, 1e6, "assumed", "thermistors (ntc) at 25 degC"),
    Parameter("ntc_beta", "K", 3950.0, 2000.0, 6000.0, "assumed", "constant B of thermistors (ntc)"),
    Parameter(
        "divider", "ohm", 10e3, 10.0, 1e7, "assumed", "fixed resistor beside a resistance sensor (adcN)"
    ),
)  # fmt: skip
_COUPLE_PARAMETERS = (
    Parameter(
        "junction_error", "K", 0.0, -20.0, 20.0, "assumed", "error of the cold junction's own sensor"
    ),
    Parameter("amplifier_gain", "1", 50.0, 1.0, 1000.0, "assumed", "of thermocouple amplifiers (adcN)"),
    Parameter("adc_reference", "V", 3.3, 0.5, 10.0, "assumed", "of their converters (adcN)"),
)  # fmt: skip
_DIGITAL_PARAMETERS = (
    Parameter("digital_bits", "1", 12.0, 9.0, 12.0, "data sheet", "resolution of digital probes"),
)


def parameters(kinds: Sequence[str] = KINDS) -> tuple[Parameter, ...]:
    """What can be set on sensors and electronics of these kinds."""
    return (
        *(_RESISTANCE_PARAMETERS if _has_resistance(kinds) else ()),
        *(_COUPLE_PARAMETERS if any(kind in _COUPLES for kind in kinds) else ()),
        *(_DIGITAL_PARAMETERS if "digital" in kinds else ()),
    )


def input_of(kind: str, setup: Mapping[str, float], words: Mapping[str, str]) -> Input:
    """A sensor of one of KINDS with its electronics."""
    if kind in _COUPLES:
        gain, reference = setup["amplifier_gain"], setup["adc_reference"]
        return CoupleInput(_COUPLES[kind], setup["junction_error"], gain, reference)
    if kind == "digital":
        return DigitalInput(round(setup["digital_bits"]))
    divider = Divider(setup["divider"], words.get("divider_side") != "sensor-high")
    lead = lead_error(int(words.get("lead_wires", "2")), setup["lead_resistance"], setup["lead_mismatch"])
    curve, other = _curves(kind, setup)
    current, dissipation = setup["measuring_current"] / 1000.0, setup["dissipation"]
    return ResistanceInput(curve, other, lead, divider, current, dissipation)


def _curves(kind: str, setup: Mapping[str, float]) -> tuple[Curve, Curve]:
    """Of a resistance sensor, and of one that is easily taken for it."""
    if kind in _PLATINUM:
        return _PLATINUM[kind], other_curve(_PLATINUM[kind])
    if kind == "ntc-steinhart":
        return STEINHART, Beta(10e3, _BETAS[0])
    other = _BETAS[1] if setup["ntc_beta"] > sum(_BETAS) / 2.0 else _BETAS[0]
    return Beta(setup["ntc_r25"], setup["ntc_beta"]), Beta(setup["ntc_r25"], other)


def sheath_of(name: str, setup: Mapping[str, float], words: Mapping[str, str]) -> tuple[float, float]:
    """Lag in water at 0.2 m/s [s] and diameter [mm] of the probe called `name`."""
    sheath: Sheath | None = SHEATHS.get(words.get(f"{name}_sheath", "stated"))
    return (sheath.lag_s, sheath.diameter_mm) if sheath else (setup[f"{name}_lag"], setup["probe_diameter"])


def tolerance_of(where: str, kind: str, name: str) -> Tolerance | None:
    """The class called `name` of a kind; None for "none".

    Raises
    ------
    ValueError
        If the kind has no such class.
    """
    if name == "none":
        return None
    known = _CLASSES.get(kind, {})
    if name not in known:
        offer = " or ".join(["none", *known])
        raise ValueError(f"{where}_class: {kind} has no tolerance class {name}. Use {offer}.")
    return known[name]
