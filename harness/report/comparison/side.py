"""What of a run is compared: the same values, whether they come from the logbook or from a baseline."""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from harness.assertions.verdict import Outcome
from harness.logbook import RunRecord
from harness.quantity import QuantityError, parse_ms
from harness.report.account import Ending, Judged, account_of

#: Of a scenario's head, what changes what happens; its prose, what it demands and its seed stand apart.
PLAYED = ("plant", "length", "exchange_every", "start_at", "stop_at_first_break", "wiring", "panel",
          "disturbance")  # fmt: skip
#: Digits of the digests of texts, enough to tell one person's texts apart.
DIGITS = 12
#: Significant digits of a number: what compilers and processors do to the last ones is no change.
SIGNIFICANT = 9


@dataclass(frozen=True)
class Kept:
    """One assertion judged, as `Judged`; `demand` is a digest of what the scenario demands."""

    title: str
    outcome: Outcome
    margin: float | None = None
    unit: str = ""
    figure: str | None = None
    value: float | None = None
    demand: str = ""


@dataclass(frozen=True, kw_only=True)
class Side:
    """One scenario as one firmware came through it.

    Attributes
    ----------
    scenario : the file's name, by which both sides are matched.
    title, status : as `RunAccount`.
    reasons : why the run as a whole shows less than it should; a baseline keeps none such.
    plant, setup, seed, pace : what was simulated.
    script : a digest of what else the scenario plays (`PLAYED`); comments and prose are not in it.
    exchange_ms : time between exchanges, 0 where not known: a time is told no finer. [ms]
    signals : the digest of all recorded signals.
    run : number in the logbook; None in a baseline.
    assertions : in the order of the scenario.
    """

    scenario: str
    title: str
    status: Ending
    reasons: tuple[str, ...] = ()
    plant: str = ""
    setup: Mapping[str, float | str] = field(default_factory=dict)
    seed: int = 0
    pace: str = "lockstep"
    script: str = ""
    exchange_ms: int = 0
    signals: str = ""
    run: int | None = None
    assertions: tuple[Kept, ...] = ()


def side_of(record: RunRecord, scenario: str | None = None) -> Side:
    """A run of the logbook; `scenario` is its name where it is to be another than the file's."""
    account, meta = account_of(record), record.summary.meta
    played = _played(meta.scenario_text)
    return Side(
        scenario=scenario or account.scenario,
        title=account.title,
        status=account.status,
        reasons=account.reasons,
        plant=account.plant,
        setup=account.plant_setup,
        seed=meta.seed,
        pace=_pace(record),
        script=_digest(played) if played else "",
        exchange_ms=_exchange_ms(played),
        signals=account.digest,
        run=account.run,
        assertions=tuple(
            _kept(judged, meta.assertions[at] if at < len(meta.assertions) else {})
            for at, judged in enumerate(account.assertions)
        ),
    )


def _kept(judged: Judged, stated: Mapping[str, str | int]) -> Kept:
    demand = {key: value for key, value in stated.items() if key not in ("title", "basis")}
    return Kept(
        title=judged.title,
        outcome=judged.outcome,
        margin=_rounded(judged.margin),
        unit=judged.margin_unit,
        figure=judged.figure,
        value=_rounded(judged.value),
        demand=_digest(demand) if demand else "",
    )


def _rounded(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.{SIGNIFICANT}g}")


def _played(text: str) -> Mapping[str, Any]:
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:  # of a run that a program began, without a file
        return {"disturbance": text}
    return {key: data[key] for key in PLAYED if key in data}


def _exchange_ms(played: Mapping[str, Any]) -> int:
    from harness.scenario.tables import HeadTable

    try:
        return parse_ms(str(played["exchange_every"]))
    except (KeyError, QuantityError):
        usual: int = HeadTable.keys["exchange_every"].default
        return usual


def _pace(record: RunRecord) -> str:
    from harness.scenario.model import WALL_SIGNALS

    return "wall" if any(name in record.units for name in WALL_SIGNALS) else "lockstep"


def _digest(data: Mapping[str, Any] | Sequence[Any]) -> str:
    text = json.dumps(data, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:DIGITS]
