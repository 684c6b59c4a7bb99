"""unlit run"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from harness.cli.options import DEFAULT_LOGBOOK, LogbookOption, Whole
from harness.errors import UnlitError

BUILTIN = "builtin"
SHORTEST_ANSWER_MS, LONGEST_ANSWER_MS = 10, 600_000


def run(
    *scenarios: str,
    device: str | None = None,
    logbook: LogbookOption = DEFAULT_LOGBOOK,
    seed: Whole | None = None,
    expected: Annotated[bool, Parameter(negative=())] = False,
    answer_timeout: str = "2 s",
    pace: Literal["lockstep", "wall"] | None = None,
    jobs: Whole | None = None,
    live: Annotated[bool, Parameter(negative=())] = False,
    json: Path | None = None,
    junit: Path | None = None,
    summary: Path | None = None,
    baseline: Path | None = None,
    keep_baseline: Path | None = None,
    tolerance: Annotated[list[str] | None, Parameter(negative=())] = None,
) -> int:
    """Play scenarios against a device and judge them.

    All files are checked before the first one is played.

    Parameters
    ----------
    scenarios
        Files, folders, or shipped scenarios by name.
    device
        The link to the controller under test; without it, the built-in one that a scenario is for. Scenarios
        of a folder that are for another built-in one are left out.
    seed
        Of the noise, in place of each scenario's own.
    expected
        Exit with 0 when every run ends as its scenario expects, whatever that is.
    answer_timeout
        How long the device may take for an answer; two and a half times that while it boots.
    pace
        In place of each scenario's own: lockstep, as fast as the device answers, or wall, in wall time with a
        device that keeps its own clock.
    jobs
        How many at once, each on a device of its own; without it, one a core. Always 1 on a port or URL.
    live
        Show each run on the terminal while it is played, one at a time; m marks a moment, s stops.
    json
        A file for the results in full.
    junit
        A file for the results in the XML that CI servers read.
    summary
        A file for a table in Markdown; the one that $GITHUB_STEP_SUMMARY names is added to.
    baseline
        Compare with this file, kept earlier; exit with 1 too if anything became worse.
    keep_baseline
        Keep how the scenarios went in this file, to be committed and compared with later.
    tolerance
        With --baseline: by how much a margin or figure may shrink, as for `unlit compare`.
    """
    from harness.cli.find import find, load_all, meant_for

    answer_s = _answer_s(answer_timeout)
    at_once = _jobs(jobs, device or BUILTIN)
    paths = {"json": json, "junit": junit, "summary": summary}
    try:
        loaded = load_all(find(scenarios, "run"))
        if device is not None:
            loaded = meant_for(device, loaded, scenarios)
    except UnlitError as error:
        _leave_no_pass(error, paths, [logbook, baseline, keep_baseline, *map(Path, scenarios)])
        raise
    if seed is not None:
        loaded = [replace(scenario, seed=seed) for scenario in loaded]
    if pace is not None:
        loaded = [replace(scenario, pace=pace) for scenario in loaded]
    if live or any(scenario.pace == "wall" for scenario in loaded):
        at_once = 1  # Nothing else may run beside a bench that keeps time.

    from harness.bench.run import run_scenario
    from harness.cli.baselines import Baselines
    from harness.cli.play import Session
    from harness.cli.result_files import ResultFiles
    from harness.logbook import Logbook

    playing = partial(run_scenario, answer_timeout_s=answer_s)
    others = [str(logbook), *(scenario.file for scenario in loaded)]
    baselines = Baselines(baseline, keep_baseline, tolerance, scenarios, others)
    files = ResultFiles(paths, [*others, *baselines.files])
    session = Session(
        playing, device, Logbook(logbook), compare=expected, jobs=at_once, live=live, files=files,
        baselines=baselines,
    )  # fmt: skip
    return session.play(loaded)


def _leave_no_pass(
    error: UnlitError, paths: Mapping[str, Path | None], others: Sequence[Path | None]
) -> None:
    """Say in the result files why nothing was played, so that none of an earlier session stands there."""
    from harness.cli.result_files import ResultFiles
    from harness.report.account import SessionAccount, unplayed

    kept = [other for other in others if other is not None]
    kept += [file for other in kept if other.is_dir() for file in other.rglob("*.toml")]
    why = unplayed("unlit run", "", (str(error),), begun=False)
    with contextlib.suppress(UnlitError):  # of the two errors the first is told
        ResultFiles(paths, kept).begin(SessionAccount(exit_code=error.exit_code, runs=(why,)))


def _answer_s(text: str) -> float:
    from harness.errors import WrongUseError
    from harness.quantity import QuantityError, parse_ms

    try:
        answer_ms = parse_ms(text)
    except QuantityError as error:
        raise WrongUseError(f"unlit run: --answer-timeout {text}: {error}.") from None
    if not SHORTEST_ANSWER_MS <= answer_ms <= LONGEST_ANSWER_MS:
        raise WrongUseError(
            f"unlit run: --answer-timeout {text} is out of range. Give "
            f"{SHORTEST_ANSWER_MS} ms to {LONGEST_ANSWER_MS // 60_000} min."
        )
    return answer_ms / 1000


def _jobs(asked: int | None, device: str) -> int:
    """How many scenarios to play at once: as asked, else one a core, but never two on one device."""
    from harness.errors import WrongUseError
    from harness.links.open import opens_many
    from harness.links.placement import usable_cores

    if asked is not None and asked < 1:
        raise WrongUseError(f"unlit run: --jobs {asked} plays nothing. Give 1 or more.")
    if os.name != "posix" or not opens_many(device):
        return 1
    return asked or len(usable_cores()) or os.cpu_count() or 1
