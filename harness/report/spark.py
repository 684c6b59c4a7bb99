"""A signal as one line of characters."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

LEVELS = "▁▂▃▄▅▆▇█"
PLAIN_LEVELS = "_.-~=+*#"


def spark(
    values: NDArray[np.float64],
    width: int,
    level: Callable[[NDArray[np.float64]], float] = np.mean,
    *,
    ascii_only: bool = False,
) -> str:
    """At most `width` characters, each the `level` of its share of the rows; blank without a finite one."""
    levels = PLAIN_LEVELS if ascii_only else LEVELS
    finite = values[np.isfinite(values)]
    if not finite.size:
        return " " * min(width, len(values))
    low, span = finite.min(), np.ptp(finite) or 1.0
    signs = []
    for part in np.array_split(values, min(width, len(values))):
        part = part[np.isfinite(part)]
        height = (level(part) - low) / span * (len(levels) - 1) if part.size else None
        signs.append(" " if height is None else levels[round(float(height))])
    return "".join(signs)
