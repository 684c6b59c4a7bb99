"""Units of a device's channels: what a wire value means in a recorded signal."""

from __future__ import annotations

import re
from dataclasses import dataclass

INT32_MAX = 2**31 - 1


@dataclass(frozen=True)
class ChannelUnit:
    """How a wire value maps to the recorded signal: `recorded = wire * scale + offset`.

    `unit` is the recorded signal's unit; `low` and `high` bound the wire value.
    """

    unit: str
    scale: float = 1.0
    offset: float = 0.0
    low: int = -INT32_MAX
    high: int = INT32_MAX

    def wire(self, value: float) -> int:
        """Nearest wire value of a value in `unit`, halves away from zero."""
        exact = (value - self.offset) / self.scale
        # A decimal such as 66.7 is not exact in binary; a millionth of a wire unit cannot matter.
        size = int(abs(exact) + 0.5 + 1e-6)
        return size if exact >= 0 else -size


_FIXED = {
    "mdegC": ChannelUnit("degC", 1e-3),
    # Fahrenheit channels are recorded in degC like all temperatures.
    "mdegF": ChannelUnit("degC", 1e-3 / 1.8, -32.0 / 1.8),
    "mohm": ChannelUnit("ohm", 1e-3),
    "uV": ChannelUnit("uV"),
    "bool": ChannelUnit("bool", low=0, high=1),
    "permille": ChannelUnit("permille", low=0, high=1000),
    "count": ChannelUnit("count"),
    "ms": ChannelUnit("ms"),
}


def channel_unit(name: str) -> ChannelUnit:
    """Meaning of a channel unit as the protocol names it (`mdegC`, `adc10`, …)."""
    adc = re.fullmatch(r"adc(\d+)", name)
    if adc:
        return ChannelUnit("count", low=0, high=2 ** int(adc[1]) - 1)
    return _FIXED[name]
