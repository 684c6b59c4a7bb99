"""What the logbook keeps of a run, as values."""

from __future__ import annotations

import os
import platform
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from harness.assertions.verdict import Status, Verdict
from harness.errors import LogbookError
from harness.logbook.file import WrongLogbookError, open_for_reading, sqlite_errors
from harness.version import version

if TYPE_CHECKING:
    from harness.logbook.chunks import Times, Values

INTERRUPTED = "interrupted"


class EventLike(Protocol):
    """Something that happened: bench time in ms, who, and a text for a person."""

    @property
    def t_ms(self) -> int: ...
    @property
    def source(self) -> str: ...
    @property
    def text(self) -> str: ...


@dataclass(frozen=True)
class LoggedEvent:
    """An event read back."""

    t_ms: int
    source: str
    text: str


class ResultLike(Protocol):
    """A finished run as the bench gives it: see `harness.bench.result.RunResult`."""

    @property
    def status(self) -> Status: ...
    @property
    def reasons(self) -> Sequence[str]: ...
    @property
    def notes(self) -> Sequence[str]: ...
    @property
    def verdicts(self) -> Sequence[Verdict]: ...
    @property
    def digest(self) -> str: ...
    @property
    def length_ms(self) -> int: ...
    @property
    def exchanges(self) -> int: ...
    @property
    def repeats(self) -> int: ...
    @property
    def wall_s(self) -> float: ...


@dataclass(frozen=True, kw_only=True)
class RunMeta:
    """What is known when a run starts; `device` is the link's text, `host` and `process` say who wrote it.

    `firmware` is file to SHA-256 of the build, where the link names files. `assertions` are what is judged,
    with what comes from requirement sets, each as `AssertionSpec.stated_values` gives it. Both are empty in
    logbooks written before they were kept.
    """

    scenario_file: str
    scenario_text: str = ""
    title: str = ""
    plant: str = ""
    plant_setup: Mapping[str, float | str] = field(default_factory=dict)
    seed: int = 0
    device: str = ""
    device_name: str = ""
    device_version: str = ""
    firmware: Mapping[str, str] = field(default_factory=dict)
    assertions: Sequence[Mapping[str, str | int]] = field(default_factory=list)
    unlit_version: str = field(default_factory=version)
    host: str = field(default_factory=platform.node)
    process: int = field(default_factory=os.getpid)


@dataclass(frozen=True, kw_only=True)
class RunEnd:
    """What is known when a run has ended: `length_ms` is how far it came, in bench time."""

    reasons: Sequence[str] = ()
    notes: Sequence[str] = ()
    digest: str = ""
    length_ms: int = 0
    exchanges: int = 0
    repeats: int = 0
    wall_s: float = 0.0


@dataclass(frozen=True)
class RunSummary:
    """One line of the list of runs.

    `status` is as recorded. `interrupted` is true where the run says it is running but its process is gone.
    """

    run_id: int
    started_at: str
    status: Status
    interrupted: bool
    meta: RunMeta
    end: RunEnd

    @property
    def shown_status(self) -> str:
        """The status for a person: `interrupted` in place of a `running` that is not so."""
        return INTERRUPTED if self.interrupted else str(self.status)


@dataclass(frozen=True)
class RunRecord:
    """A run read back; its signals are read when asked for.

    `names` are in the recorded order, `units` by name.
    """

    path: Path
    summary: RunSummary
    names: tuple[str, ...]
    units: Mapping[str, str]
    events: tuple[LoggedEvent, ...]
    verdicts: tuple[Verdict, ...]

    def chunks(self, names: Iterable[str] | None = None) -> Iterator[tuple[Times, Values]]:
        """The recorded chunks in order: times (n,) in ms, values (n, k) with a column a name (default all).

        Raises
        ------
        WrongLogbookError
            On a name that was not recorded.
        LogbookError
            When the file is damaged.
        """
        import zlib

        from harness.logbook.chunks import unpack_times, unpack_values

        wanted = [self._column(name) for name in (self.names if names is None else names)]
        query = "SELECT row_count, times, samples FROM chunks WHERE run = ? ORDER BY id"
        with sqlite_errors(self.path), closing(open_for_reading(self.path)) as connection:
            for count, times_blob, samples_blob in connection.execute(query, (self.summary.run_id,)):
                try:
                    times = unpack_times(times_blob, count)
                    samples = unpack_values(samples_blob, count, len(self.names))
                except (zlib.error, ValueError) as error:
                    raise LogbookError(f"{self.path}: a chunk is damaged: {error}. Run it again.") from error
                yield times, samples[wanted].T

    def signals(self, names: Iterable[str] | None = None) -> tuple[Times, dict[str, Values]]:
        """Times (n,) in ms and the named signals (n,) of the whole run; the errors of `chunks`."""
        import numpy as np

        chosen = list(self.names if names is None else names)
        parts = list(self.chunks(chosen))
        times = np.concatenate([part[0] for part in parts]) if parts else np.empty(0, np.int64)
        columns = {
            name: np.concatenate([part[1][:, at] for part in parts]) if parts else np.empty(0)
            for at, name in enumerate(chosen)
        }
        return times, columns

    def computed_digest(self) -> str:
        """The digest of what is read back; differs from `summary.end.digest` only if the file was altered."""
        from harness.logbook.digest import RunDigest

        digest = RunDigest(self.names, [self.units[name] for name in self.names])
        for times, values in self.chunks():
            digest.chunk(times, values)
        return digest.hexdigest()

    def _column(self, name: str) -> int:
        if name not in self.units:
            recorded = ", ".join(self.names)
            raise WrongLogbookError(
                f"run {self.summary.run_id}: no signal {name!r} was recorded. Recorded: {recorded}."
            )
        return self.names.index(name)
