"""Kinds of temperature probe: what a person may choose, and the electronics that come of it."""

from __future__ import annotations

from collections.abc import Mapping

from plants.kernel.describe import Choice, Parameter
from plants.sensors.circuit import Divider
from plants.sensors.inputs import CoupleInput, DigitalInput, Input, ResistanceInput
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


def choices(*names: str, kinds: tuple[str, ...] = KINDS) -> tuple[Choice, ...]:
    """What can be chosen for the temperature probes called `names`; the first of `kinds` is the default."""
    classes = ("none", "AA", "A", "B", "1", "2", "sheet")
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
    side = Choice(
        "divider_side", ("sensor-low", "sensor-high"), "assumed", "where sensors sit in their dividers"
    )
    return (*each, side)


def parameters() -> tuple[Parameter, ...]:
    """What can be set on sensors and electronics of one kind or another."""
    return (
        Parameter("ntc_r25", "ohm", 10e3, 100.0, 1e6, "assumed", "thermistors (ntc) at 25 degC"),
        Parameter("ntc_beta", "K", 3950.0, 2000.0, 6000.0, "assumed", "constant B of thermistors (ntc)"),
        Parameter(
            "divider", "ohm", 10e3, 10.0, 1e7, "assumed", "fixed resistor beside a resistance sensor (adcN)"
        ),
        Parameter(
            "junction_error", "K", 0.0, -20.0, 20.0, "assumed", "error of the cold junction's own sensor"
        ),
        Parameter("amplifier_gain", "1", 50.0, 1.0, 1000.0, "assumed", "of thermocouple amplifiers (adcN)"),
        Parameter("adc_reference", "V", 3.3, 0.5, 10.0, "assumed", "of the converters (adcN)"),
        Parameter("digital_bits", "1", 12.0, 9.0, 12.0, "data sheet", "resolution of digital probes"),
    )


def input_of(kind: str, setup: Mapping[str, float], words: Mapping[str, str]) -> Input:
    """A sensor of one of KINDS with its electronics."""
    if kind in _COUPLES:
        gain, reference = setup["amplifier_gain"], setup["adc_reference"]
        return CoupleInput(_COUPLES[kind], setup["junction_error"], gain, reference)
    if kind == "digital":
        return DigitalInput(round(setup["digital_bits"]))
    divider = Divider(setup["divider"], words.get("divider_side") != "sensor-high")
    lead = setup["lead_resistance"]
    if kind in _PLATINUM:
        return ResistanceInput(_PLATINUM[kind], other_curve(_PLATINUM[kind]), lead, divider)
    if kind == "ntc-steinhart":
        return ResistanceInput(STEINHART, Beta(10e3, _BETAS[0]), lead, divider)
    other = _BETAS[1] if setup["ntc_beta"] > sum(_BETAS) / 2.0 else _BETAS[0]
    r25 = setup["ntc_r25"]
    return ResistanceInput(Beta(r25, setup["ntc_beta"]), Beta(r25, other), lead, divider)


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
