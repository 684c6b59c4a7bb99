"""How long a coil must be for a ramp of the mash behind a liquor that is only so much hotter.

The tank is taken as stirred and at one temperature: effectiveness 1 - exp(-UA / (m c)). UA from the geometry,
as the plant's coil has it (plants/parts/coil.py).
"""

from __future__ import annotations

from dataclasses import replace
from math import exp, log

from harness.calibration.sizing.row import DoesNotFitError, Row
from plants.media.water import SPECIFIC_HEAT, density
from plants.parts.coil import Helix, coil_ua

MASH_DENSITY = density(65.0)
SHORTEST_M, LONGEST_M = 0.1, 100.0


def for_ramp(capacity: float, ramp: float, offset: float, flow: float, helix: Helix) -> list[Row]:
    """The coil that heats a mash of `capacity` [J/K] by `ramp` [K/s].

    Parameters
    ----------
    offset : by how much the liquor is hotter than the mash. [K]
    flow : through the coil. [L/min]
    helix : pipe and winding; its length does not count.

    Raises
    ------
    DoesNotFitError
        If no coil does it, or only one longer than 100 m, or if hardly any is needed.
    """
    wanted = capacity * ramp
    kg_per_s = flow / 60.0 * 0.001 * MASH_DENSITY
    carried = kg_per_s * SPECIFIC_HEAT
    share = wanted / (carried * offset)
    if share >= 0.98:
        most = f"{flow:g} L/min carry {carried * offset / 1000.0:.3g} kW at most over {offset:g} K"
        raise DoesNotFitError(
            f"{most}; the ramp wants {wanted / 1000.0:.3g} kW. Pump more, let the liquor be hotter, or ramp "
            "more slowly"
        )
    ua = -carried * log(1.0 - share)
    length = _length(helix, kg_per_s, ua)
    return [
        Row("heat into the mash", wanted / 1000.0, "kW"),
        Row("share of what the flow could take", 100.0 * share, "%", "effectiveness of the coil"),
        Row("exchange", ua, "W/K", "whole coil"),
        Row("length", length, "m", f"of {helix.outside:g} mm pipe, films at 65 and 72 degC"),
        Row("coil outlet above the mash", offset * share, "K", "what grain at the return feels"),
        Row("with half the flow", _ramp_at(helix, length, capacity, kg_per_s / 2.0, offset), "K/min"),
    ]


def _length(helix: Helix, kg_per_s: float, ua: float) -> float:
    low, high = SHORTEST_M, LONGEST_M
    if coil_ua(replace(helix, length=low), kg_per_s) >= ua:
        raise DoesNotFitError(
            f"less than {SHORTEST_M:g} m of this pipe gives the {ua:.2g} W/K that the ramp wants. See "
            "whether ramp, offset and flow are as meant"
        )
    if coil_ua(replace(helix, length=high), kg_per_s) < ua:
        raise DoesNotFitError(
            f"the ramp wants {ua:.0f} W/K, more than {LONGEST_M:g} m of this pipe give. Take a wider one, "
            "pump more, or let the liquor be hotter"
        )
    for _ in range(50):
        middle = (low + high) / 2.0
        enough = coil_ua(replace(helix, length=middle), kg_per_s) >= ua
        low, high = (low, middle) if enough else (middle, high)
    return high


def _ramp_at(helix: Helix, length: float, capacity: float, kg_per_s: float, offset: float) -> float:
    carried = kg_per_s * SPECIFIC_HEAT
    ua = coil_ua(replace(helix, length=length), kg_per_s)
    return carried * (1.0 - exp(-ua / carried)) * offset / capacity * 60.0
