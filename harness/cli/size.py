"""unlit size"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Literal, NoReturn

from cyclopts import App

from harness.cli.given import given_value
from harness.cli.help import help_section
from harness.cli.options import Whole

if TYPE_CHECKING:
    from harness.calibration.sizing.row import Row

ABOUT = "Check that heat source, orifice, coil, cycle and probe places are of the right size."

WATER_BOILS = 100.0
"""At sea level [degC]; above it all heat goes into steam."""
MOST_LITRES = 1e5
"""More is a slip of the pen. [L], [kg]"""
MOST_RAMP = 1000.0
"""The same. [K/min]"""

size = App(name="size", help=ABOUT, help_format="plaintext", help_formatter=help_section)


@size.command
def heat(
    *,
    water: str,
    grain: str = "0 kg",
    metal: str = "0 kJ/K",
    loss: str = "0 W/K",
    room: str = "20 degC",
    start: str = "20 degC",
    end: str = "66 degC",
    efficiency: str = "100 %",
    ramp: str | None = None,
    power: str | None = None,
) -> int:
    """The heat source that a ramp wants, or what a heat source does.

    Parameters
    ----------
    water
        All that is heated, such as "85 L".
    grain
        In it.
    metal
        Heat capacity of vessels and pipes, such as "6 kJ/K".
    loss
        To the room, such as "12 W/K": power that holds a temperature over its distance to the room.
    room
        Temperature around.
    start
        Temperature at the start.
    end
        Temperature at the end, below boiling: what boiling takes is not in these figures.
    efficiency
        Share of the source's heat that gets into the water; a burner on an open stand has 30 to 50 %, an
        immersed element nearly all (common practice, no source).
    ramp
        Wanted, such as "1 K/min"; or
    power
        Of the source, such as "9 kW" (a burner's by the higher heating value).
    """
    from harness.calibration.sizing.heat import Charge, for_ramp, of_source

    charge = Charge(
        water=_value("water", water, "L", least=0.1, most=MOST_LITRES),
        grain=_value("grain", grain, "kg", least=0.0, most=MOST_LITRES),
        metal=_value("metal", metal, "J/K", least=0.0, most=1e9),
        loss=_value("loss", loss, "W/K", least=0.0, most=1e5),
        room=_value("room", room, "degC", least=-60.0, most=60.0),
    )
    begin = _value("start", start, "degC", least=0.0, most=WATER_BOILS)
    finish = _value("end", end, "degC", least=0.0, most=WATER_BOILS)
    useful = _value("efficiency", efficiency, "%", least=1.0, most=100.0) / 100.0
    if finish <= begin:
        _refuse(f"--end {end} is not above --start {start}.")
    if (ramp is None) == (power is None):
        _refuse("give --ramp or --power, one of them.")
    if ramp is not None:
        wanted = _value("ramp", ramp, "K/min", least=0.001, most=MOST_RAMP) / 60.0
        return _answer(lambda: for_ramp(charge, wanted, begin, finish, useful))
    source = _value("power", power or "-", "W", least=1.0, most=1e8)
    return _answer(lambda: of_source(charge, source, begin, finish, useful))


@size.command
def orifice(
    *,
    power: str,
    gas: Literal["propane", "natural-gas", "butane"] = "propane",
    pressure: str = "11 inH2O",
    orifices: Whole = 1,
    altitude: str = "0 m",
) -> int:
    """The drill for a burner's orifice, by gas and pressure.

    Parameters
    ----------
    power
        The burner's rating by the higher heating value, such as "9 kW" or "30000 Btu/h".
    gas
        Which one.
    pressure
        At the orifice, over the air's; 11 inH2O is usual for propane, 7 for natural gas.
    orifices
        How many alike share the gas.
    altitude
        Above sea level: from 600 m on a burner is set for less than its rating.
    """
    from harness.calibration.sizing.orifice import for_power
    from plants.media.gas import GASES

    if not 1 <= orifices <= 100:
        _refuse(f"--orifices {orifices} is out of range. Give 1 to 100.")
    fuel = GASES[gas]
    watts = _value("power", power, "W", least=10.0)
    kpa = _value("pressure", pressure, "kPa", least=0.05, most=1e4)
    height = _value("altitude", altitude, "m", least=0.0, most=5000.0)
    return _answer(lambda: for_power(fuel, watts, kpa, orifices, height))


@size.command
def coil(
    *,
    mash: str,
    ramp: str,
    offset: str,
    flow: str,
    grain: str = "0 kg",
    outside: str = "12.7 mm",
    wall: str = "0.9 mm",
    winding: str = "250 mm",
    metal: Literal["copper", "stainless", "aluminium"] = "copper",
) -> int:
    """The length of a coil for a ramp of the mash behind a liquor that is only so much hotter.

    Parameters
    ----------
    mash
        Liquid of the mash, such as "30 L".
    ramp
        Wanted, such as "1 K/min".
    offset
        By how much the liquor is hotter than the mash, such as "10 K".
    flow
        Through the coil, such as "6 L/min".
    grain
        In the mash.
    outside
        Diameter of the pipe.
    wall
        Its thickness.
    winding
        Diameter of the coil.
    metal
        Of the pipe.
    """
    from harness.calibration.sizing.coil import for_ramp
    from harness.calibration.sizing.heat import Charge
    from plants.parts.coil import WALLS, Helix

    wide = _value("outside", outside, "mm", least=4.0, most=60.0)
    bore = wide - 2.0 * _value("wall", wall, "mm", least=0.2, most=5.0)
    if bore < 2.0:
        _refuse(f"--wall {wall} leaves no bore in a pipe of {outside}.")
    turn = _value("winding", winding, "mm", least=round(1.5 * wide, 2), most=2000.0)
    helix = Helix(1.0, bore, wide, turn, WALLS[metal])
    charge = Charge(
        water=_value("mash", mash, "L", least=0.1, most=MOST_LITRES),
        grain=_value("grain", grain, "kg", least=0.0, most=MOST_LITRES),
    )
    wanted = _value("ramp", ramp, "K/min", least=0.001, most=MOST_RAMP) / 60.0
    over = _value("offset", offset, "K", least=0.1, most=80.0)
    litres = _value("flow", flow, "L/min", least=0.1, most=200.0)
    return _answer(lambda: for_ramp(charge.capacity, wanted, over, litres, helix))


@size.command
def cycle(
    *,
    slope: str,
    cycle: str | None = None,
    ripple: str | None = None,
    duty: str = "20 %",
    life: Whole = 100_000,
    use: str = "8 h",
    years: Whole = 5,
) -> int:
    """The cycle of a time-proportioned output, against the life of what switches and the ripple.

    Parameters
    ----------
    slope
        Rise under full heat, such as "0.75 K/min".
    cycle
        To look at, such as "30 s"; or
    ripple
        That may be, such as "0.1 K": the cycles that keep it and last for --years.
    duty
        At which it is held.
    life
        Closings until a contact or valve is worn: 100 000 for a relay at its full load, by relay makers.
    use
        Hours a week.
    years
        That it shall last.
    """
    from harness.calibration.sizing.cycle import between, of

    if (cycle is None) == (ripple is None):
        _refuse("give --cycle or --ripple, one of them.")
    if not 1 <= life <= 10**12:
        _refuse(f"--life {life} is out of range. Give 1 to 1000000000000 closings.")
    if not 1 <= years <= 100:
        _refuse(f"--years {years} is out of range. Give 1 to 100.")
    rises = _value("slope", slope, "K/min", least=1e-4, most=MOST_RAMP) / 60.0
    hours = _value("use", use, "h", least=0.01, most=168.0)
    if cycle is not None:
        length = _value("cycle", cycle, "s", least=0.02, most=3600.0)
        share = _value("duty", duty, "%", least=0.1, most=99.9) / 100.0  # at its ends nothing switches
        return _answer(lambda: of(length, rises, share, life, hours))
    swings = _value("ripple", ripple or "-", "K", least=1e-4, most=100.0)
    return _answer(lambda: between(rises, swings, life, hours, years))


@size.command
def delay(
    *,
    slope: str,
    hose: str = "0 m",
    bore: str = "12 mm",
    flow: str = "6 L/min",
    probe: str = "5 s",
    light: str = "3 s",
    cycle: str = "30 s",
    sampling: str = "1 s",
) -> int:
    """What the dead time is made of where the probe sits, and what it costs.

    Parameters
    ----------
    slope
        Rise under full heat, such as "0.75 K/min".
    hose
        From where it is heated to the probe.
    bore
        Of the hose.
    flow
        Through it.
    probe
        Time constant of the probe where it sits; 20 to 60 s in a dry thermowell (common practice, no source).
    light
        From the command to the flame.
    cycle
        Of the time-proportioned output.
    sampling
        Between two readings.
    """
    from harness.calibration.sizing.delay import Path, of

    path = Path(
        hose=_value("hose", hose, "m", least=0.0, most=100.0),
        bore=_value("bore", bore, "mm", least=1.0, most=200.0),
        flow=_value("flow", flow, "L/min", least=0.01, most=1000.0),
        probe=_value("probe", probe, "s", least=0.0, most=3600.0),
        light=_value("light", light, "s", least=0.0, most=600.0),
        cycle=_value("cycle", cycle, "s", least=0.0, most=3600.0),
        sampling=_value("sampling", sampling, "s", least=0.0, most=600.0),
    )
    return _answer(lambda: of(path, _value("slope", slope, "K/min", least=1e-4, most=MOST_RAMP) / 60.0))


def _value(
    option: str, text: str, unit: str, *, least: float | None = None, most: float | None = None
) -> float:
    return given_value("size", option, text, unit, least=least, most=most)


def _refuse(why: str) -> NoReturn:
    from harness.errors import WrongUseError

    raise WrongUseError(f"unlit size: {why}")


def _answer(question: Callable[[], list[Row]]) -> int:
    """Print the answer; one that cannot be given is said on standard error, exit code 3."""
    from harness.calibration.sizing.row import DoesNotFitError
    from harness.errors import UnlitError
    from harness.report.console import console
    from harness.report.sizing import CAUTION, sheet

    try:
        rows = question()
    except DoesNotFitError as error:
        raise UnlitError(f"unlit size: {error}.") from None
    out = console()
    out.print(sheet(rows))
    out.print(CAUTION)
    return 0
