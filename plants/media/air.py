"""Air around a plant: pressure by altitude, moisture."""

from __future__ import annotations

from plants.media.water import saturation_kpa


def pressure_kpa(altitude_m: float) -> float:
    """Standard pressure at a height above sea level [m], in kPa.

    US Standard Atmosphere 1976 / ISO 2533, valid to 11 km; weather moves it by about 3 kPa.

    >>> round(pressure_kpa(1600.0), 4)
    83.5277
    """
    geopotential = 6356766.0 * altitude_m / (6356766.0 + altitude_m)
    return 101.325 * float((1.0 - 0.0065 * geopotential / 288.15) ** 5.255877)


def moisture_kpa(temp: float, humidity: float) -> float:
    """Partial pressure of vapour in air of `temp` [degC] and relative `humidity` [%], in kPa."""
    return saturation_kpa(temp) * humidity / 100.0
