"""From a log to a plant's set-up: what is matched, what is free, what is found."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from types import MappingProxyType

import numpy as np

from harness.calibration.fitting.log import RigLog
from harness.calibration.fitting.play import Player, matched, starts
from harness.calibration.fitting.solve import Fitted, solve
from harness.calibration.rig import Rig
from plants import Plant
from plants.kernel.describe import Parameter

FREE: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "herms-gas": ("burner_efficiency", "base_heat", "liquor_loss", "mash_loss", "coil_ua"),
        "direct-fired-mash": ("burner_efficiency", "base_heat", "mash_loss"),
        "electric-kettle": ("element_power", "kettle_loss", "kettle_lag"),
        "fermentation-chamber": ("belt_exchange", "beer_exchange", "chamber_loss"),
        "pottery-kiln": ("brick_conductivity", "ware"),
    }
)
"""What is fitted where nothing else is said: what nobody can measure with a rule or a scale."""


LEAST_READINGS = 8
"""Of a column: from fewer nothing is told of how it scatters."""

SCALES = ("L", "kg", "L/min", "W", "kW")
"""Units of what sets the scale of a rig: with one of these wrong every figure found is."""


class NotFittedError(ValueError):
    """The log and the plant do not fit together; the message says why and how to mend it."""


@dataclass(frozen=True)
class LogFit:
    """A fit, with what was assumed.

    Attributes
    ----------
    player : the log on the plant.
    known : given by a person; not fitted.
    fitted : what was found.
    aside : columns of the log that are neither probe nor actuator here.
    """

    player: Player
    known: Mapping[str, float | str]
    fitted: Fitted
    aside: tuple[str, ...]

    @property
    def free(self) -> tuple[Parameter, ...]:
        """The fitted parameters."""
        return tuple(one for one in self.player.kind.parameters if one.name in self.fitted.values)

    @property
    def assumed(self) -> tuple[Parameter, ...]:
        """What the plant holds, what heats it, what flows and where it starts, as far as nobody has said."""
        return tuple(
            one
            for one in self.player.kind.parameters
            if one.name not in {**self.fitted.values, **self.known}
            and (one.unit in SCALES or one.name.endswith("_start"))
        )


def fit_log(
    log: RigLog,
    name: str,
    kind: type[Plant],
    rig: Rig,
    *,
    free: Sequence[str] = (),
    known: Mapping[str, float | str] = MappingProxyType({}),
    columns: Mapping[str, str] = MappingProxyType({}),
    cycle_ms: int = 30_000,
    progress: Callable[[int], None] | None = None,
) -> LogFit:
    """Fit a plant's parameters to a log.

    Parameters
    ----------
    name, kind, rig : the plant, what heats it and what runs beside.
    free : parameters to fit; without them those in FREE. Temperatures at the start are fitted too.
    known : parameters and choices that are known.
    columns : column of the log -> probe or actuator, where they are called differently.
    cycle_ms : of a time-proportioned output, where the heat is a duty.
    progress : called with the number of plays so far.

    Raises
    ------
    NotFittedError
        If no column is a probe, a name does not exist, or more is free than the log could tell.
    """
    _check_names(name, kind, log, columns)
    probes, switches, aside = matched(log, kind, columns)
    _check_columns(log, {**probes, **switches}, probes)
    if not probes:
        known_probes = ", ".join(probe.name for probe in kind.probes if "mdegC" in probe.units)
        raise NotFittedError(
            f"none of the log's columns ({', '.join(log.columns)}) is a probe of {name} ({known_probes}). "
            "Say which is which: --column tank=liquor"
        )
    begin = {start: value for start, value in starts(kind, log, probes).items() if start not in known}
    twice = [one for one in free if one in known]
    if twice:
        raise NotFittedError(f"--free {twice[0]}: --setup says what it is. Leave one of them out")
    parameters = _free(name, kind, [*(free or FREE.get(name, ())), *begin], known)
    player = Player(kind, rig, log, probes, switches, cycle_ms)
    measured = np.stack([log.columns[column] for column in probes], axis=1)
    if np.isfinite(measured).sum() < 10 * len(parameters):
        raise NotFittedError(f"the log has too few readings to fit {len(parameters)} parameters. Log longer")
    found = solve(lambda values: player.play({**known, **values}), measured, parameters, begin, progress)
    return LogFit(player, dict(known), found, tuple(aside))


def _check_names(name: str, kind: type[Plant], log: RigLog, columns: Mapping[str, str]) -> None:
    """Refuse a name for a column that is not there, or that this plant has no probe or actuator for."""
    for column, called in columns.items():
        if column not in log.columns:
            raise NotFittedError(f"--column {column}: the log has {', '.join(log.columns)}")
        switch = log.units[column] == "bool"
        probes = [one.name for one in kind.probes if "mdegC" in one.units]
        offered = [one.name for one in kind.actuators] if switch else probes
        if called not in offered:
            near = get_close_matches(called, offered, n=1)
            mend = f"did you mean {near[0]}?" if near else f"there are {', '.join(offered)}"
            what = "actuator" if switch else "probe"
            raise NotFittedError(f"--column {column}={called}: {name} has no {what} {called}, {mend}")


def _check_columns(log: RigLog, used: Mapping[str, str], probes: Collection[str]) -> None:
    """Refuse two columns of one thing, which would count twice, and a probe that was hardly read."""
    for column, called in used.items():
        others = [one for one in used if used[one] == called and one != column]
        if others:
            raise NotFittedError(
                f"columns {column} and {others[0]} are both {called}: its readings would count twice. Take "
                "one out of the log"
            )
    for column in probes:
        readings = int(np.isfinite(log.columns[column]).sum())
        if readings < LEAST_READINGS:
            what = f"column {column} has {readings} of the {LEAST_READINGS} readings that are the least"
            raise NotFittedError(f"{what}. Take it out of the log, or log longer")


def _free(
    name: str, kind: type[Plant], wanted: Sequence[str], known: Mapping[str, float | str]
) -> list[Parameter]:
    if set(wanted) <= {one for one in wanted if one.endswith("_start")}:
        raise NotFittedError(f"{name} is a plant of your own: say what is to be fitted, --free NAME")
    parameters = {parameter.name: parameter for parameter in kind.parameters}
    for one in wanted:
        if one not in parameters:
            mend = f"`unlit plants {name}` lists them"
            raise NotFittedError(f"--free {one}: {name} has no such parameter. {mend}")
        if parameters[one].unit in ("count", "1", ""):
            mend = "Give it with --setup"
            raise NotFittedError(f"--free {one}: it is a count, which cannot be fitted. {mend}")
    return [parameters[one] for one in dict.fromkeys(wanted) if one not in known]
