"""What heats, what runs beside it and which probe is read: of the ready plants, or as a person says."""

from __future__ import annotations

from dataclasses import dataclass, replace
from difflib import get_close_matches

from plants import Plant


@dataclass(frozen=True)
class Rig:
    """A plant's part in a step test.

    Attributes
    ----------
    heat : the actuator that heats.
    with_heat : actuators that are on while it is, such as an igniter.
    always : actuators that are on from start to end, such as a pump.
    probe : what is read, in mdegC.
    seen : the plant's signal that says whether heat really flows (a flame, a current); "" for none: then the
        command itself counts as heat.
    mode : of the reference controller, so that it drives this rig.
    limit : no heat at or above this reading. [degC]
    """

    heat: str
    probe: str
    with_heat: tuple[str, ...] = ()
    always: tuple[str, ...] = ()
    seen: str = ""
    mode: int = 0
    limit: float = 95.0


RIGS = {
    "herms-gas": Rig("gas_valve", "coil_outlet", ("igniter",), ("pump",), "flame_seen", mode=1),
    "direct-fired-mash": Rig("gas_valve", "mash", ("igniter",), ("pump",), "flame_seen", mode=1),
    "electric-kettle": Rig("relay", "kettle", seen="element_current"),
    "pottery-kiln": Rig("element", "kiln", seen="element_relay", limit=1290.0),
    "fermentation-chamber": Rig("heater", "beer", seen="heater_relay", limit=45.0),
}


def rig_for(
    name: str,
    kind: type[Plant],
    *,
    heat: str | None = None,
    probe: str | None = None,
    always: tuple[str, ...] | None = None,
    with_heat: tuple[str, ...] | None = None,
    seen: str | None = None,
) -> Rig:
    """The rig of a plant, with what a person said in place of the defaults.

    Raises
    ------
    ValueError
        If a plant of one's own comes without its heat and probe, or a name does not exist.
    """
    rig = RIGS.get(name)
    if rig is None:
        if heat is None or probe is None:
            raise ValueError(
                f"{name} is a plant of your own: say what heats and which probe is read, --heat NAME "
                f"--probe NAME. Actuators: {_names(kind.actuators)}. Probes: {_names(kind.probes)}."
            )
        rig = Rig(heat, probe)
    if heat not in (None, rig.heat):
        rig = Rig(heat or rig.heat, rig.probe, always=rig.always, limit=rig.limit)
    rig = replace(
        rig,
        probe=rig.probe if probe is None else probe,
        always=rig.always if always is None else always,
        with_heat=rig.with_heat if with_heat is None else with_heat,
        seen=rig.seen if seen is None else seen,
    )
    actuators = [one.name for one in kind.actuators]
    readable = [one.name for one in kind.probes if "mdegC" in one.units]
    for what, wanted, known in (
        ("actuator", (rig.heat, *rig.with_heat, *rig.always), actuators),
        ("probe in mdegC", (rig.probe,), readable),
        ("signal", (rig.seen,) if rig.seen else (), [one.name for one in kind.signals]),
    ):
        for one in wanted:
            if one not in known:
                near = get_close_matches(one, known, n=1)
                hint = f"Did you mean {near[0]}?" if near else f"There are: {', '.join(known)}."
                raise ValueError(f"{name} has no {what} {one}. {hint}")
    return rig


def _names(offered: tuple[object, ...]) -> str:
    return ", ".join(one.name for one in offered)  # type: ignore[attr-defined]
