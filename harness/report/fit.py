"""A fit to a log as a person reads it, and as lines of a scenario."""

from __future__ import annotations

import json
from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from harness.calibration.fitting.fit_log import LogFit
from harness.calibration.fitting.words import doubts, follows_badly
from harness.report.columns import table
from harness.report.figures import count, number
from harness.report.plain import plain
from harness.report.plot import plot

CAUTION = (
    "A model that follows a log says nothing of what the log does not show. It is no permission to light a "
    "burner."
)
_WIDTH, _HEIGHT = 76, 8


def fit_block(fit: LogFit, *, ascii_only: bool) -> Iterator[RenderableType]:
    """What was fitted, how well it follows, and what the log cannot tell."""
    log, found, player = fit.player.log, fit.fitted, fit.player
    minutes = log.time_s[-1] / 60.0
    yield Text(f"{plain(player.kind.name)} fitted to {plain(log.file)}", "bold")
    rows = count(len(log.time_s), "row")
    yield f"  {rows} over {number(minutes)} min, the plant played {found.plays} times"
    if fit.aside:
        yield f"  not used: {', '.join(map(plain, fit.aside))}"
    made = table("parameter", "found", "95 % interval", last="was, from")
    for parameter in fit.free:
        value, interval = found.values[parameter.name], found.intervals[parameter.name]
        made.add_row(
            parameter.name,
            f"{number(value)} {parameter.unit}",
            f"{number(interval.low)} to {number(interval.high)}",
            f"{number(parameter.default)}, {parameter.source}",
        )
    yield made
    if fit.assumed:
        taken = ", ".join(f"{one.name} {number(one.default)} {one.unit}" for one in fit.assumed)
        yield (
            f"Taken as they stand: {taken}. Where your rig differs the figures found are wrong by more than "
            "their intervals say: give yours with --setup."
        )
    for at, column in enumerate(player.probes):
        yield Text(f"{plain(column)}: log less model, {found.scatter[at]:.2g} K root mean square")
        yield from plot(
            log.time_s / 60.0, [found.residuals[:, at]],
            width=_WIDTH, height=_HEIGHT, ascii_only=ascii_only, x_unit="min", y_unit="K",
        )  # fmt: skip
    for doubt in (*follows_badly(list(player.probes), found), *doubts(log, found)):
        yield f"Mind: {plain(doubt)}"
    yield CAUTION


def setup_lines(fit: LogFit) -> Iterator[str]:
    """`[plant_setup]` of a scenario: what was found with its interval, and what was known."""
    yield f"# {fit.player.kind.name}, fitted to {plain(fit.player.log.file)}; a scenario can use it."
    yield "[plant_setup]"
    parameters = {parameter.name: parameter for parameter in fit.player.kind.parameters}
    for name, value in fit.fitted.values.items():
        interval, unit = fit.fitted.intervals[name], parameters[name].unit
        yield f'{name} = "{value:.6g} {unit}"  # 95 %: {interval.low:.4g} to {interval.high:.4g}'
    for name, known in fit.known.items():
        if isinstance(known, str):
            yield f"{name} = {json.dumps(known)}"
        elif parameters[name].unit in ("count", "1", ""):
            yield f"{name} = {known:g}"
        else:
            yield f'{name} = "{known:.6g} {parameters[name].unit}"'
