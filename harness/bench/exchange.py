"""The exchange loop in lockstep pace.

At each exchange the disturbances due take effect, the probes are read and sent, the outputs of the answer
come into force, the row is recorded, and the plant advances to the next exchange; a disturbance of the plant
between two exchanges happens at its own instant, and so does a power cut of the device. Bench time runs as
fast as the device answers; full chunks are judged and stored while the device is at work on its answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from harness.bench.channels import channel_unit
from harness.bench.device import Device
from harness.bench.line_upsets import LINE_KINDS, LineUpsets, like_tell
from harness.bench.panel import Panel
from harness.bench.recorder import NAN, Recorder
from harness.bench.result import Event
from harness.bench.trouble import shown
from harness.bench.wiring import Joined
from harness.errors import DeviceError
from harness.line import Event as Heard
from harness.line import LineError, Now, Say, Tell
from harness.scenario import Change, Scenario, Timeline
from plants import Plant

Condition = Callable[[Callable[[str], float], int], bool]
"""A test of one row: given a signal's value by name and the time [ms], does it hold?"""

CLOCK_SPAN = 2**32
PROGRESS_EVERY = 256


class Exchange:
    """One run in progress: the plant, the device and the timeline between them.

    Parameters
    ----------
    scenario, plant, device, joined, recorder :
        The parts of the run, made ready by `run.py`.
    tells : names of the device's figures that are recorded, in column order.
    conditions : for each disturbance that waits for a condition, its index and a test of the last row.
    on_event : called with each event as it happens.
    done : asked before each exchange whether the run may end here, before its length.
    """

    def __init__(
        self,
        scenario: Scenario,
        plant: Plant,
        device: Device,
        joined: Joined,
        recorder: Recorder,
        *,
        tells: Sequence[str],
        conditions: Mapping[int, Condition],
        on_event: Callable[[Event], None],
        done: Callable[[], bool] = lambda: False,
    ) -> None:
        self.scenario, self.plant, self.device, self.joined = scenario, plant, device, joined
        self.recorder, self.on_event, self.done = recorder, on_event, done
        self.timeline = Timeline(scenario.disturbances)
        self.t_ms = 0
        self.exchanges = 0
        self.silent = 0
        self.power_cuts = 0
        self.doubts: list[str] = []
        self._read = plant.reader([(probe.probe, probe.channel.unit) for probe in joined.probes])
        self._readings: list[int | None] = self._read()
        self._outputs: tuple[int | None, ...] = ()
        self._units = [(channel, channel_unit(channel.unit)) for channel in device.identity.outputs]
        self._panel = Panel(scenario, joined.panel)
        self._panel_moved = True
        self._tells: dict[str, float] = dict.fromkeys(tells, NAN)
        self._rest: list[float] = []
        self._typed: list[str] = []
        self._conditions = dict(conditions)
        self._tokens: dict[int, int] = {}
        self._line = LineUpsets(device.link, self._doubt_tells)
        self._upset: dict[int, str] = {}
        self._silent_since: dict[int, int] = {}
        self._effects: dict[str, Callable[[Change], None]] = {
            "set-panel": self._set_panel,
            "type": self._type,
            "line-silence": self._fall_silent,
            "power-cut": self._cut_power,
            **dict.fromkeys(LINE_KINDS, self._upset_line),
        }
        self._begun = False
        plant.on_change = self._plant_changed

    # What happened

    def event(self, source: str, text: str, t_ms: int | None = None) -> None:
        """Record an event now, or at `t_ms`."""
        self.on_event(Event(self.t_ms if t_ms is None else t_ms, source, text))

    def heard(self, message: Heard) -> None:
        """Take what the device says beside its answers."""
        if isinstance(message, Tell):
            self.event("device", f"tell {message.name} {'x' if message.value is None else message.value}")
            if message.name in self._tells:
                self._tells[message.name] = NAN if message.value is None else float(message.value)
                self._outputs = ()
        elif isinstance(message, Say):
            self.event("device", f"say {message.text}")
        elif isinstance(message, Now):
            self.event("device", "sent now in lockstep pace; it is recorded and not applied")
            self._doubt(
                "the device keeps its own time (it sent `now`), and the bench's runs many times as fast. "
                "Build the kit for lockstep pace, wall_pace 0, or play with --pace wall."
            )
        elif isinstance(message, LineError):
            self.event("link", f"damaged line from the device ({message.reason}): {shown(message.excerpt)}")
            self._doubt_tells(message.excerpt)

    def warnings(self) -> Iterable[str]:
        """What a person should see though the run passed."""
        return ()

    def _doubt(self, why: str) -> None:
        """Something that leaves the run inconclusive; said once."""
        if why not in self.doubts:
            self.doubts.append(why)

    def _doubt_tells(self, line: bytes) -> None:
        """A line of the device came damaged or was lost: a figure that it tells is not told again."""
        if self._tells and like_tell(line):
            self._doubt(
                f"the line spoilt a figure that the device told; tell.{', tell.'.join(self._tells)} may be "
                "wrong from then on. Judge an output in its place: outputs are asked for again."
            )

    def _plant_changed(self, t_ms: int, text: str) -> None:
        self.event("plant", text, t_ms)
        if self._begun:
            self._record(t_ms)

    def _record(self, t_ms: int) -> None:
        self.recorder.row(t_ms, self.plant.sample(), self._readings, self._rest)

    # The loop

    def play(self, progress: Callable[[int, int], None] | None = None) -> None:
        """Play the scenario to its end.

        Raises
        ------
        LinkError, DeviceError, LogbookError
            What ended the run early; all that was recorded before stays.
        """
        device, scenario = self.device, self.scenario
        device.go(self._clock())
        device.prepare([probe.channel.number for probe in self.joined.probes])
        self._changes(0)
        step, length = scenario.exchange_every_ms, scenario.length_ms
        while self.t_ms < length and not self.done():
            self._turn()
            if progress is not None and self.exchanges % PROGRESS_EVERY == 0:
                progress(self.t_ms, length)
            self._advance(min(self.t_ms + step, length))
        self._record(self.t_ms)
        for index in list(self._upset):
            self._settle_line(index)

    def _clock(self) -> int:
        """What the device's clock shows now."""
        return (self.scenario.start_ms + self.t_ms) % CLOCK_SPAN

    def _turn(self) -> None:
        """An exchange if the device has power; a row in any case."""
        self._begun = True
        if not self.power_cuts:
            self._exchange()
        self._record(self.t_ms)
        if self.silent or self.power_cuts:
            self._store()  # else it is done while the device is at work
        if self._conditions:
            self._try_conditions()

    def _exchange(self) -> None:
        clock, device = self._clock(), self.device
        if self.silent:
            outputs = device.tick(clock)
        else:
            if self._panel_moved:
                self._panel_to_device()
            readings = self._read()
            device.send_at(clock, readings)
            self._store()
            self._readings = readings
            outputs = device.receive()
        self.exchanges += 1
        if outputs is not self._outputs:
            self._take(outputs)

    def _store(self) -> None:
        """Hand a full chunk on to be judged and stored."""
        if self.recorder.full:
            self.recorder.flush()

    def _take(self, outputs: tuple[int | None, ...]) -> None:
        """Check new outputs and put them in force."""
        for value, (channel, unit) in zip(outputs, self._units, strict=True):
            if value is not None and not unit.low <= value <= unit.high:
                raise DeviceError(
                    f"the device set output {channel.name} to {value}; a {channel.unit} is "
                    f"{unit.low} to {unit.high}. Mend the firmware's output."
                )
        command = [0.0] * len(self.plant.actuators)
        for drive in self.joined.drives:
            value = outputs[drive.output]
            if value is None:
                name = self.device.identity.outputs[drive.output].name
                raise DeviceError(
                    f"the device gave no value (x) for output {name}, which drives the plant. "
                    "Give every wired output a value."
                )
            command[drive.actuator] = float(value)
        self._outputs = outputs
        self._rest = [
            *self._panel.sent,
            *(NAN if value is None else float(value) for value in outputs),
            *self._tells.values(),
            *self._figures(),
        ]
        self.plant.command(command)

    def _figures(self) -> tuple[float, ...]:
        """What the bench records of itself, the last columns of a row."""
        return ()

    def _advance(self, until_ms: int) -> None:
        plant, timeline = self.plant, self.timeline
        while (due := timeline.next_ms()) <= until_ms:
            plant.advance(due)
            self.t_ms = due
            self._changes(due)
        plant.advance(until_ms)
        self.t_ms = until_ms

    # Disturbances

    def _changes(self, t_ms: int) -> None:
        for change in self.timeline.take_due(t_ms):
            self._apply(change, t_ms)

    def _try_conditions(self) -> None:
        value = self._row().__getitem__
        for index in [i for i, test in self._conditions.items() if test(value, self.t_ms)]:
            del self._conditions[index]
            self.timeline.triggered(index, self.t_ms)
        self._changes(self.t_ms)

    def _row(self) -> dict[str, float]:
        raw = [*self.plant.sample(), *self._readings, *self._rest]
        return {
            column.name: NAN if value is None else value * column.scale + column.offset
            for column, value in zip(self.recorder.columns, raw, strict=True)
        }

    def _apply(self, change: Change, t_ms: int) -> None:
        disturbance = change.disturbance
        place = f" {disturbance.place}" if disturbance.place else ""
        self.event("disturbance", f"{disturbance.kind}{place} {'starts' if change.starts else 'ends'}", t_ms)
        self._effects.get(disturbance.kind, self._disturb_plant)(change)
        # A fault of the line changes nothing but bytes: a run that recovers from it is the clean run.
        if self._begun and disturbance.kind not in LINE_KINDS:
            self._record(t_ms)

    def _disturb_plant(self, change: Change) -> None:
        disturbance, index = change.disturbance, change.index
        if change.starts:
            kind, place, sizes = disturbance.kind, disturbance.place, disturbance.sizes
            self._tokens[index] = self.plant.begin_fault(kind, place, sizes, disturbance.ramp_ms)
        else:
            self.plant.end_fault(self._tokens.pop(index), disturbance.fade_ms)

    def _set_panel(self, change: Change) -> None:
        self._panel_moved = True
        if change.starts:
            self._panel.press(change.index, change.disturbance.panel)
        elif self._panel.release(change.index):
            return
        elif self.silent or self.power_cuts:
            self.event("bench", "the panel was set and let go while the device heard nothing")
        else:
            self._too_short("set-panel")

    def _type(self, change: Change) -> None:
        if self.power_cuts:
            self.event("bench", "typed while the device has no power: nobody heard it")
            return
        self._panel_moved = True
        self._typed.append(change.disturbance.text)

    def _fall_silent(self, change: Change) -> None:
        self.silent += 1 if change.starts else -1
        if change.starts:
            self._silent_since[change.index] = self.exchanges
        elif self._silent_since.pop(change.index) == self.exchanges and not self.power_cuts:
            self._too_short("line-silence")

    def _too_short(self, kind: str) -> None:
        """A disturbance came and went between two exchanges: nothing was shown."""
        self._doubt(
            f"{kind} was over at {self.t_ms / 1000:.3f} s before the device could notice it. "
            f"Let it last longer than exchange_every, {self.scenario.exchange_every_ms} ms."
        )

    def _upset_line(self, change: Change) -> None:
        if change.starts:
            self._line.begin(change.index, change.disturbance)
            self._upset[change.index] = change.disturbance.kind
        else:
            self._settle_line(change.index)

    def _settle_line(self, index: int) -> None:
        """Say how often a fault of the line struck; one that never did has shown nothing."""
        kind, struck = self._upset.pop(index), self._line.end(index)
        self.event("link", f"{kind} struck {struck} times")
        if not struck:
            self._doubt(
                f"{kind} was over at {self.t_ms / 1000:.3f} s and struck nothing. Let it strike more often."
            )

    def _cut_power(self, change: Change) -> None:
        """The device loses its power, gets it back, or both at one moment."""
        lasts = change.disturbance.for_ms is not None or change.disturbance.end_ms is not None
        if change.starts:
            self.power_cuts += 1
            self._typed.clear()
            self._tells = dict.fromkeys(self._tells, NAN)
            # Off is a value of what switches or modulates; any other figure has none without power.
            self._take(tuple(0 if unit.unit in ("bool", "permille") else None for _, unit in self._units))
            if self._begun:
                self._record(self.t_ms)
        if not (change.starts and lasts):
            self.power_cuts -= 1
            if not self.power_cuts:
                self._restore_power()

    def _restore_power(self) -> None:
        """The device starts again; a person's switches stand as they stood."""
        self.device.restart()
        self._take(self.device.back(self._clock()))
        self._panel.forgotten()
        self._panel_moved = True
        self.event("bench", "the device has its power back and has started again")

    def _panel_to_device(self) -> None:
        self._panel_moved = False
        puts = self._panel.take()
        if puts:
            self.device.put(puts)
            self._outputs = ()
        for text in self._typed:
            if not self.device.type(text):
                self._doubt(
                    f"at {self.t_ms / 1000:.3f} s the device's console took no notice of {text!r}. "
                    "Mend the line in the scenario or the firmware's console."
                )
        self._typed.clear()
