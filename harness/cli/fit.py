"""unlit fit"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

Words = Annotated[list[str] | None, Parameter(negative=())]


def fit(
    log: str,
    /,
    *,
    plant: str,
    free: Words = None,
    setup: Words = None,
    column: Words = None,
    unit: Words = None,
    heat: str | None = None,
    always: Words = None,
    with_heat: Words = None,
    cycle: str = "30 s",
    out: Path | None = None,
) -> int:
    """Fit a plant's parameters to the log of a real rig, with 95 % intervals, as [plant_setup].

    The log is a CSV file with a head such as "time [s], heat [%], liquor [degC]": heat, as commanded, holds
    from its row to the next; a column heat_seen is heat that really flowed, by a flame signal. Exit code 0 if
    every parameter is told, 3 if there is something to mind.

    Parameters
    ----------
    log
        The file.
    plant
        A ready plant, or a Python file with one of your own, which is run.
    free
        A parameter to fit; may be given several times. Each ready plant has its own list.
    setup
        A parameter that is known, such as "liquor_volume=48 L", or a file with [plant_setup]; may be given
        several times.
    column
        What a column is here, such as "tank=liquor": a probe, or an actuator that is on and off.
    unit
        The unit of a column whose head has none, such as "tank=degF".
    heat
        The actuator that heats; each ready plant has its own.
    always
        An actuator that is on throughout and in no column, such as a pump.
    with_heat
        An actuator that is on while heat is, such as an igniter.
    cycle
        Of a time-proportioned output, where the heat is a duty.
    out
        Write [plant_setup] to this file; without it, it is printed.
    """
    from harness.calibration.fitting.fit_log import NotFittedError, fit_log
    from harness.calibration.fitting.log import read_log
    from harness.calibration.fitting.words import doubts, follows_badly
    from harness.cli import calibration_output as output
    from harness.cli import given_plant
    from harness.cli.given import given_value, pairs, wrong
    from harness.report.fit import fit_block, setup_lines

    kind = given_plant.plant_kind(plant, "fit")
    rig = given_plant.rig(
        "fit", kind, plant, heat=heat, probe=None, always=always, with_heat=with_heat, seen=None, limit=None
    )
    known = given_plant.setup("fit", kind, given_plant.setup_words("fit", setup))
    cycle_ms = round(given_value("fit", "cycle", cycle, "ms", least=100.0, most=600_000.0))
    output.writable("fit", {"out": out}, needed=[Path(log)])
    table = read_log(log, pairs("fit", "unit", unit))
    with output.Watch(f"fitting {kind.name}", things="plays of the plant") as watch:
        try:
            found = fit_log(
                table, plant, kind, rig, free=free or (), known=known,
                columns=pairs("fit", "column", column), cycle_ms=cycle_ms,
                progress=lambda plays: watch.progress(plays, 0),
            )  # fmt: skip
        except NotFittedError as error:
            raise wrong("fit", str(error)) from None
    output.show(lambda ascii_only: fit_block(found, ascii_only=ascii_only))
    text = "\n".join(setup_lines(found)) + "\n"
    if out is None:
        print(text, end="")
    else:
        output.write_text(out, text)
    minded = [*doubts(table, found.fitted), *follows_badly(list(found.player.probes), found.fitted)]
    return output.NOT_TOLD if minded else 0
