"""unlit run"""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from cyclopts import Parameter

from harness.cli.options import DEFAULT_LOGBOOK, LogbookOption


def run(
    *scenarios: str,
    device: str = "builtin",
    logbook: LogbookOption = DEFAULT_LOGBOOK,
    seed: int | None = None,
    expected: Annotated[bool, Parameter(negative=())] = False,
) -> int:
    """Play scenarios against a device and judge them.

    All files are checked before the first one is played.

    Parameters
    ----------
    scenarios
        Files, folders, or shipped scenarios by name.
    device
        The link to the controller under test; without it, the built-in reference controller.
    seed
        Of the noise, in place of each scenario's own.
    expected
        Exit with 0 when every run ends as its scenario expects, whatever that is.
    """
    from harness.cli.find import find, load_all

    loaded = load_all(find(scenarios, "run"))
    if seed is not None:
        loaded = [replace(scenario, seed=seed) for scenario in loaded]

    from harness.bench.run import run_scenario
    from harness.cli.play import Session
    from harness.logbook import Logbook

    return Session(run_scenario, device, Logbook(logbook), compare=expected).play(loaded)
