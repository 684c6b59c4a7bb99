"""A plant made of tables only: what the loader asks of a plant, without any physics."""

from types import SimpleNamespace as Record

import pytest

from plants import Fault, FaultSize


class Kettle:
    """A made-up gas kettle."""

    name = "kettle"
    choices = (Record(name="liquor_kind", options=("pt100", "ntc"), source="assumed", about=""),)
    parameters = tuple(
        Record(name=name, unit=unit, default=low, low=low, high=high, source="assumed", about="")
        for name, unit, low, high in (
            ("liquor_volume", "L", 5.0, 200.0),
            ("burner_power", "W", 1000.0, 30000.0),
            ("ambient", "degC", -20.0, 45.0),
            ("burner_count", "count", 1.0, 4.0),
            ("lid_on", "bool", 0.0, 1.0),
            ("emissivity", "1", 0.0, 1.0),
            ("grain_heat", "kJ/kg K", 1.0, 2.5),
        )
    )
    signals = tuple(
        Record(name=name, unit=unit, about="", switched=unit == "bool")
        for name, unit in (
            ("liquor", "degC"),
            ("flame", "bool"),
            ("gas_valve", "bool"),
            ("unburned_gas", "%"),
        )
    )
    probes = (
        Record(name="liquor", about="", units=("mdegC",)),
        Record(name="flame", about="", units=("bool",)),
    )
    actuators = (
        Record(name="gas_valve", unit="bool", about=""),
        Record(name="igniter", unit="bool", about=""),
    )
    faults = (
        Fault("flame-lost", (), (), "", ""),
        Fault("slow-to-light", (), (FaultSize("delay", "s", 6.0, 0.0, 60.0, "", nothing=0.0),), "", ""),
        Fault("probe-open", ("liquor", "limit"), (), "", ""),
        Fault(
            "probe-drift",
            ("liquor", "limit"),
            (
                FaultSize("offset", "K", 5.0, -50.0, 50.0, "", nothing=0.0),
                FaultSize("growth", "K/min", 0.5, 0.0, 10.0, ""),
            ),
            "",
            "",
        ),
    )

    @classmethod
    def assembled(cls, setup):
        if setup.get("liquor_kind") == "ntc" and "emissivity" in setup:
            raise ValueError("an ntc has no emissivity. Leave one out.")


@pytest.fixture(scope="session")
def plants():
    """The plants that test scenarios may name."""
    return {"kettle": Kettle}
