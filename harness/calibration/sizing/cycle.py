"""The cycle of a time-proportioned output: the wear of what switches, against the ripple of the temperature.

With the duty d and the rise s under full heat, the temperature goes up by s d (1 - d) C within a cycle of
length C and down again: exact where the process integrates, and an upper bound behind any lag.
"""

from __future__ import annotations

from harness.calibration.sizing.row import Row

LIFE = 100_000.0
"""Closings of a mechanical contact at its full resistive load: relay makers' notes."""
HOURS_A_YEAR = 8766.0


def of(cycle: float, slope: float, duty: float, life: float, hours_a_week: float) -> list[Row]:
    """What a cycle [s] means for ripple and wear.

    Parameters
    ----------
    slope : rise under full heat. [K/s]
    duty : 0 to 1, at which it is held.
    life : closings until the contact or valve is worn.
    hours_a_week : of use.
    """
    hours = life * cycle / 3600.0
    years = hours / hours_a_week / (HOURS_A_YEAR / 168.0)
    at = f"peak to peak at {100.0 * duty:.4g} %, before lags"
    return [
        Row("ripple", slope * duty * (1.0 - duty) * cycle, "K", at),
        Row("ripple at worst", slope * cycle / 4.0, "K", "at a duty of 50 %"),
        Row("dead time it adds", cycle / 2.0, "s", "half a cycle"),
        Row("closings", 3600.0 / cycle, "per h"),
        Row("life in use", hours, "h", f"{life:g} closings"),
        Row("life", years, "years", f"at {hours_a_week:g} h a week"),
    ]


def between(slope: float, ripple: float, life: float, hours_a_week: float, years: float) -> list[Row]:
    """The shortest cycle that lasts for `years`, the longest that keeps the ripple [K] at any duty."""
    shortest = years * (HOURS_A_YEAR / 168.0) * hours_a_week * 3600.0 / life
    longest = 4.0 * ripple / slope
    wears = f"{life:g} closings last {years:g} years at {hours_a_week:g} h a week"
    rows = [
        Row("shortest cycle", shortest, "s", wears),
        Row("longest cycle", longest, "s", f"ripple of {ripple:g} K at 50 %"),
    ]
    if shortest > longest:
        rows.append(Row("apart by", shortest - longest, "s", "both only with a contact that does not wear"))
    return rows
