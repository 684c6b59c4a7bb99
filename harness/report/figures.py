"""Times, margins and values as a person reads them."""

from __future__ import annotations

import math


def clock(t_ms: int) -> str:
    """Bench time as `mm:ss.s`, rounded half up: 480250 is `08:00.3`; minutes go on past 99."""
    tenths = (t_ms + 50) // 100
    minutes, rest = divmod(tenths, 600)
    return f"{minutes:02d}:{rest // 10:02d}.{rest % 10}"


def number(value: float) -> str:
    """Four significant digits without an exponent where that is readable; `-` for no value."""
    if math.isnan(value):
        return "-"
    if math.isinf(value) or (value and not 1e-3 <= abs(value) < 1e9):
        return f"{value:.3e}" if math.isfinite(value) else str(value)
    value += 0.0  # -0 is 0
    places = 0 if not value else max(0, 3 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def margin(value: float | None, unit: str) -> str:
    """A margin with its sign and unit, `-` for none: `+1.25 s`, `-3 degC`; one of 0 has no sign."""
    if value is None or math.isnan(value):
        return "-"
    sign = "+" if value > 0 else ""
    return f"{sign}{number(value)} {unit}".rstrip()


def wall(seconds: float) -> str:
    """Wall time: `0.9 s`, `75 s`."""
    return f"{seconds:.1f} s" if seconds < 10 else f"{seconds:.0f} s"


def count(amount: int, thing: str) -> str:
    """`1 run`, `3 runs`."""
    return f"{amount} {thing}" if amount == 1 else f"{amount} {thing}s"
