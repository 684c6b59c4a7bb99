"""Units and values as they are printed on the page."""

from __future__ import annotations

from harness.report.figures import margin, number
from harness.report.plain import plain

_SIGNS = {
    "degC": "°C",
    "degF": "°F",
    "permille": "‰",
    "count": "",
    "bool": "",
    "mdegC": "m°C",
    "mdegF": "m°F",
}


def sign_of(unit: str) -> str:
    """The printed sign of a recorded unit: `°C` for `degC`, nothing for counts."""
    return _SIGNS.get(unit, plain(unit).replace("*", "·"))


def figure_of(value: float, unit: str) -> str:
    """A value with its unit; yes-or-no values as `on` and `off`."""
    if unit == "bool":
        return {0.0: "off", 1.0: "on"}.get(value, "-")
    return f"{number(value)} {sign_of(unit)}".rstrip()


def margin_of(value: float | None, unit: str) -> tuple[str, str]:
    """A margin's figure with its sign, with a true minus, and its unit, to be set in columns."""
    figure = margin(value, "").replace("-", "−") if value is not None else "–"
    return figure, sign_of(unit) if unit != "count" else "times"
