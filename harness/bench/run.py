"""One scenario against one device, from the open link to the verdicts."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing, suppress
from functools import partial

from harness.assertions import ExpressionError, compile_expression
from harness.assertions.verdict import Status
from harness.bench.attentive import AttentiveLink
from harness.bench.channels import channel_unit
from harness.bench.clock import WALL, Clock
from harness.bench.device import Device
from harness.bench.exchange import Condition, Exchange
from harness.bench.judge import ScenarioJudge
from harness.bench.line_upsets import link_for
from harness.bench.pace import device_for, line_notes
from harness.bench.panel import panel_names
from harness.bench.recorder import CHUNK_ROWS, ChunkSink, Column, Recorder
from harness.bench.result import STOPPED, Event, RunResult, overall
from harness.bench.wall import WallExchange
from harness.bench.watch import Watcher
from harness.bench.wiring import Joined, join
from harness.errors import FileMistakesError, LogbookError, Mistake, UnlitError
from harness.line import Identity
from harness.links import Link, open_link
from harness.links.firmware import firmware_files
from harness.logbook import Logbook, RunDigest, RunMeta
from harness.scenario import Scenario
from harness.scenario.load import own_plant
from harness.scenario.model import WALL_SIGNALS
from plants import Plant, ready_plants
from plants.own import OwnPlantError, mishap

BALANCE_LIMIT = 1e-9
ANSWER_TIMEOUT_S = 2.0
# A board's loader may hold its firmware back for two seconds or more.
BOOT = 2.5
KEPT_EVENTS = 5000
# Rows between two looks at what is broken, where a run is to stop at the first break.
WATCHED_ROWS = 64
# In wall pace, between two chunks: as a rule, and where somebody watches.
KEPT_EVERY_MS, SEEN_EVERY_MS = 1000, 250


def run_scenario(
    scenario: Scenario,
    device: str,
    logbook: Logbook,
    *,
    progress: Callable[[int, int], None] | None = None,
    answer_timeout_s: float = ANSWER_TIMEOUT_S,
    opening: Callable[[str], Link] = open_link,
    clock: Clock = WALL,
    watcher: Watcher | None = None,
) -> RunResult:
    """Play one scenario and return what became of it; everything is in the logbook by then.

    Parameters
    ----------
    scenario : as `load_scenario` gives it.
    device : a link as a person writes it (`builtin`, `run:./firmware`, `/dev/ttyACM0`, …).
    logbook : keeps the run.
    progress : called now and then with (bench time, length) [ms].
    answer_timeout_s : how long the device may take for an answer; `BOOT` times that while it boots. [s]
    opening : from the text of a link to the link.
    clock : the bench's, by which a run in wall pace and all time-outs go.
    watcher : sees what is recorded as the run goes, and may say that it is complete before its length.

    Raises
    ------
    LinkError, DeviceError
        The device could not be reached before the run began.
    FileMistakesError
        The scenario does not fit this device or plant.
    LogbookError
        The run could not be recorded.
    """
    plant = _plant_of(scenario)
    link = link_for(scenario, opening(device_for(scenario, device)))
    if scenario.pace == "wall":
        link = AttentiveLink(link, clock)
    boot_s = BOOT * answer_timeout_s
    with closing(Device(link, answer_timeout_s=answer_timeout_s, hello_timeout_s=boot_s, clock=clock)) as dut:
        identity = dut.hello()
        run = _Run(scenario, device, dut, identity, plant, logbook, clock, watcher)
        with closing(run.writer):
            return run.play(progress)


def _plant_of(scenario: Scenario) -> Plant:
    name = scenario.plant
    try:
        kind = own_plant(scenario.file, name) if name.endswith(".py") else ready_plants()[name]
    except OwnPlantError as error:
        raise FileMistakesError([Mistake(scenario.file, 0, f"{error}.")]) from None
    return kind(scenario.plant_setup, seed=scenario.seed)


class _Run:
    def __init__(
        self,
        scenario: Scenario,
        device: str,
        dut: Device,
        identity: Identity,
        plant: Plant,
        logbook: Logbook,
        clock: Clock,
        watcher: Watcher | None,
    ) -> None:
        self.watcher = watcher
        self.scenario, self.device, self.dut, self.plant = scenario, device, dut, plant
        self.joined = join(scenario, identity, plant)
        fed = [probe.channel for probe in self.joined.probes]
        self.line_notes = tuple(line_notes(scenario, dut.link, identity, fed))
        panel = panel_names(scenario, self.joined.panel)
        tells = _tell_names(scenario)
        columns = list(_columns(plant, identity, self.joined, panel, tells))
        if scenario.pace == "wall":
            columns += [Column(name, unit) for name, unit in WALL_SIGNALS.items()]
        units = {column.name: column.unit for column in columns}
        self.judge = ScenarioJudge(scenario, units)
        self.digest = RunDigest(list(units), list(units.values()))
        conditions = dict(_conditions(scenario, units))
        self.events: list[Event] = []
        self.event_count = 0
        self.stop_notes: list[str] = []
        meta = RunMeta(
            scenario_file=scenario.file,
            scenario_text=scenario.text,
            title=scenario.title,
            plant=scenario.plant,
            plant_setup=dict(scenario.plant_setup),
            seed=scenario.seed,
            device=device,
            device_name=identity.name,
            device_version=identity.version,
            firmware=firmware_files(device),
            assertions=[spec.stated_values() for spec in scenario.assertions],
        )
        self.writer = logbook.begin(meta, list(units), list(units.values()))
        sinks: list[ChunkSink] = [self.digest, self.judge, self.writer]
        if watcher is not None:
            watcher.begin(columns)
            sinks.append(watcher)
        self.recorder = Recorder(columns, sinks, self._chunk_rows())
        kind: Callable[..., Exchange] = Exchange
        if isinstance(dut.link, AttentiveLink):
            kind = partial(WallExchange, clock=clock, held_up_ms=dut.link.held_up_ms)
        self.exchange = kind(
            scenario,
            plant,
            dut,
            self.joined,
            self.recorder,
            tells=tells,
            conditions=conditions,
            on_event=self.event,
            done=self._stops,
        )
        dut.on_message = self.exchange.heard

    def event(self, event: Event) -> None:
        """Keep an event: all of them in the logbook, the first few thousand for the report."""
        self.event_count += 1
        self.writer.event(event)
        if self.watcher is not None:
            self.watcher.event(event)
        if len(self.events) < KEPT_EVENTS:
            self.events.append(event)

    def play(self, progress: Callable[[int, int], None] | None) -> RunResult:
        begun = time.perf_counter()
        reasons: list[str] = []
        complete = False
        try:
            self.exchange.play(progress)
            complete = self.exchange.t_ms >= self.scenario.length_ms or self._watched_over()
            if not complete:
                self._stopped()
            if not self.exchange.power_cuts:
                reasons += self._leave()
        except LogbookError:
            raise
        except UnlitError as error:
            reasons.append(f"at {self.exchange.t_ms / 1000:.3f} s: {error}")
        except Exception as error:
            said = mishap(type(self.plant), error)
            if said is None:
                raise
            reasons.append(f"at {self.exchange.t_ms / 1000:.3f} s: the plant failed: {said}")
        except KeyboardInterrupt:
            reasons.append(f"{STOPPED} at {self.exchange.t_ms / 1000:.3f} s")
            if not self.exchange.power_cuts:
                with suppress(KeyboardInterrupt):  # a second one: at once
                    reasons += self._leave()
        self.recorder.flush()
        reasons += self.exchange.doubts
        reasons += self._soundness()
        verdicts = tuple(self.judge.verdicts(self.exchange.t_ms, complete))
        reasons += [
            f"{self.scenario.file}:{d.line}: disturbance {d.kind} never started; its condition never held"
            for d in self.exchange.timeline.never_started()
            if complete
        ]
        reasons += [
            f"disturbance {kind} began, but had nothing to act on: this run shows nothing about it"
            for kind in self.plant.idle_faults()
            if complete
        ]
        result = RunResult(
            run_id=self.writer.run_id,
            scenario_file=self.scenario.file,
            title=self.scenario.title,
            device=self.device,
            status=overall(verdicts, reasons),
            reasons=tuple(reasons),
            verdicts=verdicts,
            events=tuple(self.events),
            digest=self.digest.hexdigest(),
            length_ms=self.exchange.t_ms,
            exchanges=self.exchange.exchanges,
            repeats=self.dut.repeats,
            wall_s=time.perf_counter() - begun,
            notes=(*self._warnings(), *self._notes()),
            warnings=tuple(self._warnings()),
            cut_short=not complete and not self.stop_notes,
        )
        self.writer.finish(result)
        return result

    def _chunk_rows(self) -> int:
        if self.scenario.pace == "wall":
            # A chunk must not take long, for the device is kept waiting; what is not handed on dies with us.
            span_ms = KEPT_EVERY_MS if self.watcher is None else SEEN_EVERY_MS
            return min(WATCHED_ROWS, max(1, span_ms // self.scenario.exchange_every_ms))
        return WATCHED_ROWS if self.scenario.stop_at_first_break else CHUNK_ROWS

    def _stops(self) -> bool:
        if self.watcher is not None:
            for _ in range(self.watcher.marks()):
                self.exchange.event("bench", "marked by a person")
        broken = self.scenario.stop_at_first_break and bool(self.judge.broken)
        return broken or self._watched_over()

    def _watched_over(self) -> bool:
        return self.watcher is not None and self.watcher.over(self.exchange.t_ms)

    def _stopped(self) -> None:
        """Say why the run is over before its length."""
        broken = f"'{self.judge.broken}' is broken"
        self.event(Event(self.exchange.t_ms, "bench", f"the run stops here: {broken}"))
        at = f"at {self.exchange.t_ms / 1000:.3f} s"
        self.stop_notes.append(f"stopped {at}: {broken}, and the scenario stops at the first break")

    def _leave(self) -> Iterator[str]:
        """End the conversation; an output that stays on is a reason to doubt the firmware."""
        try:
            outputs = self.dut.end()
        except UnlitError as error:
            yield f"at the end of the run: {error}"
            return
        on = [
            self.dut.identity.outputs[drive.output].name
            for drive in self.joined.drives
            if outputs[drive.output] != 0
        ]
        if on:
            yield f"the device left {', '.join(on)} on after `end`"

    def _soundness(self) -> Iterator[str]:
        if self.recorder.unsound is not None:
            yield self.recorder.unsound
        books = self.plant.balance()
        gaps = {"energy": books.heat_error, "water": books.water_error, "gas": books.gas_drift_kg}
        for what, gap in gaps.items():
            if not gap <= BALANCE_LIMIT:
                yield f"the plant's {what} balance is off by {gap:.1e} of the whole; its model is unsound"

    def _warnings(self) -> Iterator[str]:
        yield from self.joined.warnings
        yield from self.exchange.warnings()
        if self.dut.repeats or self.dut.damaged or self.dut.stale:
            yield (
                f"the line: {self.dut.repeats} sent again, {self.dut.damaged} came damaged, "
                f"{self.dut.stale} came twice or late"
            )

    def _notes(self) -> Iterator[str]:
        yield from self.stop_notes
        yield from self.joined.notes
        yield from self.line_notes
        if self.event_count > len(self.events):
            yield f"{self.event_count} events in the logbook; the first {len(self.events)} are shown"


def _conditions(scenario: Scenario, units: Mapping[str, str]) -> Iterator[tuple[int, Condition]]:
    """The disturbances that wait for a condition, with the test of it."""
    for index, disturbance in enumerate(scenario.disturbances):
        if disturbance.when is not None:
            try:
                yield index, compile_expression(disturbance.when, units).now
            except ExpressionError as error:
                mistake = Mistake(scenario.file, disturbance.line, f"when: {error}")
                raise FileMistakesError([mistake]) from error


def _tell_names(scenario: Scenario) -> list[str]:
    """The device's figures that the scenario speaks of: only those become signals."""
    texts = [d.when or "" for d in scenario.disturbances]
    texts += [text for spec in scenario.assertions for text in spec.texts()]
    return sorted({name for text in texts for name in re.findall(r"\btell\.([a-z][a-z0-9_]*)", text)})


def _columns(
    plant: Plant, identity: Identity, joined: Joined, panel: Sequence[str], tells: Sequence[str]
) -> Iterator[Column]:
    for signal in plant.signals:
        yield Column(signal.name, signal.unit, truth=True)
    sent = [probe.channel for probe in joined.probes] + [joined.panel[name] for name in panel]
    for prefix, channels in (("in", sent), ("out", identity.outputs)):
        for channel in channels:
            unit = channel_unit(channel.unit)
            yield Column(f"{prefix}.{channel.name}", unit.unit, unit.scale, unit.offset)
    for name in tells:
        yield Column(f"tell.{name}", "count")


__all__ = ["RunResult", "Status", "run_scenario"]
