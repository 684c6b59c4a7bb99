"""What can be set on a gas burner, and the heat input that follows from it.

The input is stated, or that of drilled orifices at a gas pressure. Through orifices in thin air the mass that
passes goes with the root of the gas's density; a burner that was set up by the gas code's rule for altitude
has less still.
"""

from __future__ import annotations

from collections.abc import Mapping

from plants.kernel.describe import Choice, Parameter
from plants.media.air import pressure_kpa
from plants.media.gas import GASES, derated_share, drill_mm, orifice_power_w
from plants.parts import pilot

_MOST_W = 60e3


def parameters() -> tuple[Parameter, ...]:
    """What can be set on a gas burner."""
    return (
        Parameter(
            "burner_power", "kW", 9.0, 0.5, 60.0, "assumed", "heat input of the gas, higher heating value"
        ),
        Parameter(
            "orifice_drill", "count", 0.0, 0.0, 80.0, "ASME B94.11M number drills",
            "of the orifices; burner_power then follows from drill, gas and pressure. 0: as stated",
        ),
        Parameter("orifices", "count", 1.0, 1.0, 24.0, "assumed", "how many of that drill"),
        Parameter(
            "gas_pressure", "kPa", 2.74, 0.2, 70.0, "NFPA 54: propane 11 inH2O (natural gas 7: 1.74 kPa)",
            "at the orifices, if orifice_drill is given",
        ),
        Parameter(
            "burner_efficiency", "%", 60.0, 5.0, 100.0, "assumed", "share of the input that heats the base"
        ),
        Parameter(
            "valve_open_time", "s", 0.3, 0.0, 30.0, "common practice: under 1 s", "gas valve, shut to open"
        ),
        Parameter(
            "valve_close_time", "s", 0.3, 0.0, 30.0, "common practice: under 1 s", "gas valve, open to shut"
        ),
        Parameter("light_up_delay", "s", 1.2, 0.0, 60.0, "assumed", "from gas and spark to a flame"),
        Parameter("flame_signal_delay", "s", 0.3, 0.0, 60.0, "assumed", "lag of the flame signal, both ways"),
        Parameter(
            "least_gas", "%", 25.0, 1.0, 90.0, "assumed", "of the full flow: with less no flame stands"
        ),
        Parameter("fire_space", "L", 150.0, 10.0, 5000.0, "assumed", "space in which unburned gas gathers"),
        Parameter("ventilation", "L/s", 12.0, 0.0, 1000.0, "assumed", "fresh air through the fire space"),
        *pilot.parameters(),
    )  # fmt: skip


def choices() -> tuple[Choice, ...]:
    """What burns, what lights it, and what becomes of it in the mountains."""
    about = "a spark on command, or a standing pilot with its thermoelectric valve"
    return (
        Choice("gas", tuple(GASES), "limits of NFPA 497", "fuel: heating value, density, flammability limit"),
        Choice("ignition", ("spark", "pilot"), "assumed", about),
        Choice(
            "burner_at_altitude", ("as-stated", "derated"),
            "UMC 2009 appendix B: 4 % less for each 300 m, from 600 m on",
            "the heat input as stated, or set lower for the plant's altitude as the gas code has it",
        ),
    )  # fmt: skip


def input_w(setup: Mapping[str, float], words: Mapping[str, str]) -> float:
    """Heat input of the gas at full flow [W], as stated or from the orifices, at the plant's altitude.

    Raises
    ------
    ValueError
        If the orifices give more than 60 kW.
    """
    height = setup.get("altitude", 0.0)
    share = derated_share(height) if words.get("burner_at_altitude") == "derated" else 1.0
    drill, gas = round(setup["orifice_drill"]), GASES[words["gas"]]
    if not drill:
        return setup["burner_power"] * 1000.0 * share
    each = orifice_power_w(drill_mm(drill), setup["gas_pressure"], gas, air_kpa=pressure_kpa(height))
    watts = round(setup["orifices"]) * each * share
    if watts > _MOST_W:
        most, given = _MOST_W / 1000.0, f"at {setup['gas_pressure']:g} kPa give {watts / 1000.0:.0f} kW"
        raise ValueError(
            f"orifice_drill = {drill}: {round(setup['orifices'])} of it {given} of {gas.name}. "
            f"Use a finer drill, fewer orifices or less pressure, up to {most:.0f} kW."
        )
    return watts
