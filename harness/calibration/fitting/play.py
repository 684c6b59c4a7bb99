"""A log's heat played on a plant: what its probes would have read at the log's times."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from harness.calibration.fitting.log import Array, RigLog
from harness.calibration.rig import Rig
from plants import Plant

FINE = {"probe_resolution": 0.001, "probe_noise": 0.0}
"""A model's probe neither steps nor scatters: what the real one does is in the log."""
AT_ONCE = dict.fromkeys(("valve_open_time", "valve_close_time", "light_up_delay", "flame_signal_delay"), 0.0)
"""Heat that really flowed has these delays behind it."""


@dataclass(frozen=True)
class Player:
    """A log on a kind of plant.

    Attributes
    ----------
    kind : the plant.
    rig : what heats and what runs beside it.
    log : of the real rig.
    probes : column of the log -> probe of the plant.
    switches : column of the log -> actuator that follows it.
    cycle_ms : a duty between 0 and full is played in pulses of this cycle, from each row's time on.
    """

    kind: type[Plant]
    rig: Rig
    log: RigLog
    probes: Mapping[str, str]
    switches: Mapping[str, str]
    cycle_ms: int = 30_000

    def play(self, setup: Mapping[str, float | str]) -> Array:
        """Readings, shape (rows, columns) in the order of `probes`. [degC]

        Raises
        ------
        ValueError
            If the set-up is not one of this plant.
        """
        known = {parameter.name for parameter in self.kind.parameters}
        own = {**FINE, **(AT_ONCE if self.log.seen else {})}
        fine = {name: value for name, value in own.items() if name in known}
        plant = self.kind({**fine, **setup})
        read = plant.reader([(probe, "mdegC") for probe in self.probes.values()])
        times_ms = np.round(self.log.time_s * 1000.0).astype(int).tolist()
        made = np.empty((len(times_ms), len(self.probes)))
        for row, t_ms in enumerate(times_ms):
            plant.advance(t_ms)
            made[row] = [np.nan if value is None else value * 0.001 for value in read()]
            until_ms = times_ms[row + 1] if row + 1 < len(times_ms) else t_ms
            self._heat(plant, row, t_ms, until_ms)
        return made

    def _heat(self, plant: Plant, row: int, t_ms: int, until_ms: int) -> None:
        """Drive the actuators from a row to the next, the plant carried to the last change between them."""
        duty = float(self.log.heat[row])
        columns = self.log.columns
        others = {actuator for column, actuator in self.switches.items() if columns[column][row] > 0.5}
        if duty in (0.0, 1.0):
            self._command(plant, others, on=bool(duty))
            return
        at_ms = t_ms
        while at_ms < until_ms:
            pulse_ms = round(duty * min(self.cycle_ms, until_ms - at_ms))
            for length_ms, on in ((pulse_ms, True), (min(self.cycle_ms, until_ms - at_ms) - pulse_ms, False)):
                if length_ms:
                    plant.advance(at_ms)
                    self._command(plant, others, on=on)
                    at_ms += length_ms

    def _command(self, plant: Plant, others: set[str], *, on: bool) -> None:
        rig = self.rig
        switched = set(self.switches.values())
        running = {name for name in rig.always if name not in switched} | others
        running |= {rig.heat, *rig.with_heat} if on else set()
        plant.command([float(actuator.name in running) for actuator in plant.actuators])


def matched(
    log: RigLog, kind: type[Plant], names: Mapping[str, str]
) -> tuple[dict[str, str], dict[str, str], list[str]]:
    """Which column is which probe, which is which actuator, and which are left aside.

    Parameters
    ----------
    names : column -> probe or actuator, where they are called differently.
    """
    probes = [probe.name for probe in kind.probes if "mdegC" in probe.units]
    actuators = [actuator.name for actuator in kind.actuators]
    read, driven, aside = {}, {}, []
    for column, unit in log.units.items():
        name = names.get(column, column)
        if unit == "degC" and name in probes:
            read[column] = name
        elif unit == "bool" and name in actuators:
            driven[column] = name
        else:
            aside.append(column)
    return read, driven, aside


def starts(kind: type[Plant], log: RigLog, probes: Mapping[str, str]) -> dict[str, float]:
    """Temperatures at the start that the log tells: `NAME_start` of each vessel whose probe was read."""
    known = {parameter.name: parameter for parameter in kind.parameters}
    found: dict[str, float] = {}
    for column, probe in probes.items():
        first = _first(log, column)
        for name in (f"{probe}_start", *_BEHIND.get(probe, ())):
            parameter = known.get(name)
            if parameter is not None and first is not None:
                found.setdefault(name, min(max(first, parameter.low), parameter.high))
    return found


_BEHIND: Mapping[str, Sequence[str]] = {"pump_inlet": ("mash_start",), "coil_outlet": ("mash_start",)}
"""A probe that tells the start of a vessel of another name."""


def _first(log: RigLog, column: str) -> float | None:
    """The mean reading before heat comes on, of 3 to 60 rows, so that scatter does not move the start."""
    heated = np.flatnonzero(log.heat > 0.0)
    rows = min(max(int(heated[0]) if len(heated) else 3, 3), 60)
    values = log.columns[column]
    seen = values[np.isfinite(values)][:rows]
    return float(seen.mean()) if len(seen) else None
