"""Simulated plants: what a heat controller drives, with nothing of the bench in it."""

from __future__ import annotations

from plants.kernel.balance import Balance
from plants.kernel.describe import Actuator, Choice, Fault, FaultSize, Parameter, Probe, Signal, spelled
from plants.kernel.plant import Plant

__all__ = [
    "Actuator",
    "Balance",
    "Choice",
    "Fault",
    "FaultSize",
    "Parameter",
    "Plant",
    "Probe",
    "Signal",
    "ready_plants",
    "spelled",
]


def ready_plants() -> dict[str, type[Plant]]:
    """All plants that come with the program, by name."""
    from plants.direct_fired_mash import DirectFiredMash
    from plants.electric_kettle import ElectricKettle
    from plants.fermentation_chamber import FermentationChamber
    from plants.herms_gas import HermsGas
    from plants.pottery_kiln import PotteryKiln

    ready = (HermsGas, DirectFiredMash, ElectricKettle, FermentationChamber, PotteryKiln)
    return {plant.name: plant for plant in ready}
