"""unlit plants"""

from __future__ import annotations


def plants(name: str | None = None, /) -> int:
    """List the ready plants, or everything one of them offers.

    Parameters
    ----------
    name
        A plant, or a Python file with one of your own, which is run: its parameters, signals, probes,
        actuators and disturbances.
    """
    from harness.cli.given_plant import plant_kind
    from harness.report.console import console
    from harness.report.plant import plant_list, plant_sheet
    from plants import ready_plants

    for line in plant_list(ready_plants()) if name is None else plant_sheet(plant_kind(name, "plants")):
        console().print(line)
    return 0
