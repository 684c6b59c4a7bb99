"""unlit plants"""

from __future__ import annotations

import difflib


def plants(name: str | None = None, /) -> int:
    """List the ready plants, or everything one of them offers.

    Parameters
    ----------
    name
        A plant: its parameters, signals, probes, actuators and disturbances.
    """
    from harness.errors import WrongUseError
    from harness.report.console import console
    from harness.report.plant import plant_list, plant_sheet
    from plants import ready_plants

    ready = ready_plants()
    if name is not None and name not in ready:
        near = difflib.get_close_matches(name, ready, n=1) or sorted(ready)
        raise WrongUseError(f"unlit plants: there is no plant {name}. Did you mean {', '.join(near)}?")
    for line in plant_list(ready) if name is None else plant_sheet(ready[name]):
        console().print(line)
    return 0
