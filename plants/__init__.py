"""Simulated plants: what a heat controller drives, with nothing of the bench in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module

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


#: Name -> module:class.
_READY = {
    "herms-gas": "herms_gas:HermsGas",
    "direct-fired-mash": "direct_fired_mash:DirectFiredMash",
    "electric-kettle": "electric_kettle:ElectricKettle",
    "fermentation-chamber": "fermentation_chamber:FermentationChamber",
    "pottery-kiln": "pottery_kiln:PotteryKiln",
}


class _Ready(Mapping[str, type[Plant]]):
    """The ready plants; the module of one is loaded when it is asked for."""

    def __getitem__(self, name: str) -> type[Plant]:
        module, _, kind = _READY[name].partition(":")
        plant: type[Plant] = getattr(import_module(f"plants.{module}"), kind)
        return plant

    def __iter__(self) -> Iterator[str]:
        return iter(_READY)

    def __len__(self) -> int:
        return len(_READY)

    def __contains__(self, name: object) -> bool:
        return name in _READY


def ready_plants() -> Mapping[str, type[Plant]]:
    """All plants that come with the program, by name."""
    return _Ready()
