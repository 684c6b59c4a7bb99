"""What the dead time of a loop is made of, by where its probe sits.

Lags that are small beside the process's own count as dead time (Skogestad 2003, the half rule, where all but
the largest are small). Settings by SIMC 2003 show what the sum costs.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from harness.calibration.sizing.row import Row


@dataclass(frozen=True)
class Path:
    """From the controller's decision to its reading.

    Attributes
    ----------
    hose : length of the hose from where it is heated to the probe. [m]
    bore : of the hose. [mm]
    flow : through it; more than 0 where there is a hose. [L/min]
    probe : time constant of the probe where it sits. [s]
    light : from the command to the flame, valve and ignition together. [s]
    cycle : of the time-proportioned output. [s]
    sampling : between two readings. [s]
    """

    hose: float
    bore: float
    flow: float
    probe: float
    light: float
    cycle: float
    sampling: float

    @property
    def transport(self) -> float:
        """Plug flow through the hose. [s]"""
        litres = pi / 4.0 * (self.bore * 0.01) ** 2 * self.hose * 10.0
        return litres / self.flow * 60.0 if litres else 0.0

    @property
    def total(self) -> float:
        """All together. [s]"""
        return self.transport + self.probe + self.light + self.cycle / 2.0 + self.sampling / 2.0


def of(path: Path, slope: float) -> list[Row]:
    """The parts of the dead time, and what it allows; `slope` is the rise under full heat [K/s]."""
    total = path.total
    hose = f"{path.hose:g} m of {path.bore:g} mm at {path.flow:g} L/min"
    rows = [
        Row("water on its way", path.transport, "s", hose),
        Row("probe", path.probe, "s", "its time constant"),
        Row("valve and light", path.light, "s"),
        Row("cycle", path.cycle / 2.0, "s", "half of it"),
        Row("reading", path.sampling / 2.0, "s", "half of the time between two"),
        Row("dead time", total, "s"),
        Row("rises meanwhile", slope * total, "K", "under full heat, before anything is seen"),
    ]
    if total:
        gain = 100.0 / (2.0 * slope * total)
        rows.append(Row("gain by SIMC", gain, "%/K", "Skogestad 2003, integrating process"))
        rows.append(Row("proportional band", 2.0 * slope * total, "K", "the same"))
    return rows
