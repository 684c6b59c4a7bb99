"""unlit plants"""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from plants import Plant


def plants(name: str | None = None, /) -> int:
    """List the ready plants, or everything one of them offers.

    Parameters
    ----------
    name
        A plant, or a Python file with one of your own, which is run: its parameters, signals, probes,
        actuators and disturbances.
    """
    from harness.errors import WrongUseError
    from harness.report.console import console
    from harness.report.plant import plant_list, plant_sheet
    from plants import ready_plants

    ready = ready_plants()
    if name is not None and name.endswith(".py"):
        ready = {name: _own(name)}
    if name is not None and name not in ready:
        near = difflib.get_close_matches(name, ready, n=1) or sorted(ready)
        raise WrongUseError(f"unlit plants: there is no plant {name}. Did you mean {', '.join(near)}?")
    for line in plant_list(ready) if name is None else plant_sheet(ready[name]):
        console().print(line)
    return 0


def _own(path: str) -> type[Plant]:
    from harness.errors import WrongUseError
    from plants.own import OwnPlantError, load_plant

    try:
        return load_plant(path)
    except OwnPlantError as error:
        raise WrongUseError(f"unlit plants: {error}.") from None
