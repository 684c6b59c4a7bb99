"""The exchange loop in wall pace: bench time is wall time, and the device keeps its own clock.

Exchanges are sent on absolute deadlines, `exchange_every` apart. What the device says is stamped as it
arrives; the plant is brought to that instant before it is put in force, so that the record is the same as if
the plant had run along all the time. Between deadlines the bench listens.

Recorded beside the rest: `bench_late`, how much later than its deadline (or than the device's last answer,
where that was later) the bench sent a line or, in a silent line, woke, or how long at least it was held up
while it listened before that, if that is more; and `answer_time`, from the stimulus to its answer. Both in
ms; each holds until the next. An exchange whose deadline passes while the device still owes an answer is left
out and counted: that is the device's doing and no lateness of the bench.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from harness.bench.clock import Clock
from harness.bench.exchange import PROGRESS_EVERY, Exchange
from harness.errors import DeviceError
from harness.line import Event as Heard
from harness.line import Now

NS_PER_MS = 1_000_000
# The link waits in whole milliseconds; in the rest, one to two of them, the bench gets ready for the deadline
# and sleeps to it. What comes meanwhile is stamped at the deadline, so at most two late.
LAST_BIT_MS = 2

Outputs = tuple[int | None, ...]


class WallExchange(Exchange):
    """One run in progress in wall pace; `clock` is the bench's, the rest as for `Exchange`.

    `held_up_ms` is the longest the bench was held up in a wait since it was last called.
    """

    def __init__(self, *parts: Any, clock: Clock, held_up_ms: Callable[[], float], **options: Any) -> None:
        super().__init__(*parts, **options)
        self.clock, self._held_up_ms = clock, held_up_ms
        self.missed = 0
        self.slowest_ms = 0.0
        self._origin_ns = 0
        self._free_ns = 0
        self._late_ms = self._answer_ms = 0.0
        self._late_turns = self._turns = 0
        self._worst_ms, self._worst_at_ms = 0.0, 0
        self._live = self._booting = self._asking = self._restoring = False
        self._arrivals: list[tuple[int, Heard | Outputs]] = []
        self._after_answer: list[tuple[int, Heard | Outputs]] = []
        self._known: Outputs = ()
        self._ready: tuple[int, list[int | None]] = (-1, [])

    def _figures(self) -> tuple[float, ...]:
        return self._late_ms, self._answer_ms

    def warnings(self) -> Iterator[str]:
        """As `Exchange.warnings`."""
        if self.missed:
            yield (
                f"{self.missed} exchanges were left out: the device answered after the next was due, "
                f"at worst in {self.slowest_ms:.1f} ms"
            )

    # The loop

    def play(self, progress: Callable[[int, int], None] | None = None) -> None:
        """As `Exchange.play`."""
        try:
            with self.clock.ahead_of_others():
                self._start()
                self._go_on(progress)
            self._record(self.t_ms)
        finally:
            self._hear_out()
            self._judge_lateness()

    def _start(self) -> None:
        asked_ns = self.clock.now_ns()
        outputs = self.device.go(self._clock())
        self._origin_ns = self._free_ns = self.clock.now_ns()
        self._held_up_ms()  # What was before the run is of no matter.
        self._live = True
        self._answer_ms = (self._origin_ns - asked_ns) / NS_PER_MS
        self.device.prepare([probe.channel.number for probe in self.joined.probes])
        self._take(outputs)
        self._changes(0)
        self._begun = True
        self._record(0)

    def _go_on(self, progress: Callable[[int, int], None] | None) -> None:
        length, due_ms = self.scenario.length_ms, 0
        while not self.done():
            self.device.listen_afresh()
            self._listen_until(min(due_ms, length))
            if due_ms >= length or self.t_ms >= length:
                return
            if due_ms < self._ms(self._free_ns):
                due_ms = self._next_due()  # It passed while the device started after a power cut.
                continue
            due_ms = self._turn_at(due_ms)
            if progress is not None and self._turns % PROGRESS_EVERY == 0:
                progress(self.t_ms, length)

    def _ms(self, now_ns: int) -> int:
        """Bench time of an instant; what comes after the end of the run counts as at its end."""
        return min(max(0, now_ns - self._origin_ns) // NS_PER_MS, self.scenario.length_ms)

    def _ns(self, t_ms: int) -> int:
        return self._origin_ns + t_ms * NS_PER_MS

    def _listen_until(self, until_ms: int) -> None:
        """Let time pass; what the device says and what the scenario does happen at their own instants."""
        while self.t_ms < until_ms or self._restoring:
            if self._restoring:
                self._start_again()
                continue
            due_ms = min(until_ms, self.timeline.next_ms())
            self._wait(due_ms)
            if self._is_ready_for(until_ms):
                return
            self._catch_up()
            self._advance(max(self._ms(self.clock.now_ns()), self.t_ms))

    def _wait(self, due_ms: int) -> None:
        left_ns = self._ns(due_ms) - self.clock.now_ns()
        if left_ns >= LAST_BIT_MS * NS_PER_MS:
            self.device.listen((left_ns // NS_PER_MS - LAST_BIT_MS + 1) / 1e3)
        else:
            self._get_ready(due_ms)
            self.clock.sleep_until(self._ns(due_ms))
            self.device.listen(0.0)

    def _get_ready(self, due_ms: int) -> None:
        """Work out in the last bit what the turn at `due_ms` needs, unless the scenario acts before it."""
        if self.timeline.next_ms() > due_ms and not self._restoring:
            self._advance(due_ms)
            self._ready = due_ms, self._read()

    def _is_ready_for(self, turn_ms: int) -> bool:
        """Whether the turn's line can go out at once; what came in the last bit is taken in behind it."""
        now_ms = self._ms(self.clock.now_ns())
        return turn_ms == now_ms == self.t_ms == self._ready[0] and turn_ms < self.scenario.length_ms

    def _fresh_readings(self) -> list[int | None]:
        """The readings of this instant."""
        ready_ms, readings = self._ready
        return readings if ready_ms == self.t_ms else self._read()

    def _turn_at(self, due_ms: int) -> int:
        """The turn that is due, by an exchange where the device can hear; the next deadline."""
        if self._panel_moved and not self.silent and not self.power_cuts:
            self._panel_to_device()
            self._free_ns = self.clock.now_ns()
            self._catch_up()
            self._advance(max(self._ms(self._free_ns), self.t_ms))
        asks = not (self.silent or self.power_cuts or self._restoring)
        if not asks:
            self._catch_up()
        readings = self._fresh_readings() if asks else self._readings
        now_ns = self.clock.now_ns()
        late_ms = (now_ns - max(self._ns(due_ms), self._free_ns)) / NS_PER_MS
        self._turns += 1
        self._note_late(max(late_ms, self._held_up_ms()))
        if asks:
            self.device.send_at(self._clock(), readings)
        self._readings = readings
        self._record(self.t_ms)
        if asks:
            self._receive(now_ns)
            self._count_missed(due_ms, now_ns)
        self.exchanges += not self.power_cuts
        if self._conditions:
            self._try_conditions()
        self._store()
        return self._next_due()

    def _next_due(self) -> int:
        """The first deadline after now."""
        step = self.scenario.exchange_every_ms
        return (self.t_ms // step + 1) * step

    def _receive(self, sent_ns: int) -> None:
        self._asking = True
        outputs = self.device.receive()
        self._asking = False
        self._free_ns = self.clock.now_ns()
        self._answer_ms = (self._free_ns - sent_ns) / NS_PER_MS
        self.slowest_ms = max(self.slowest_ms, self._answer_ms)
        self._arrivals.append((self._ms(self._free_ns), outputs))
        self._arrivals += self._after_answer
        self._after_answer.clear()
        self._catch_up()

    def _count_missed(self, due_ms: int, sent_ns: int) -> None:
        """Count the deadlines that passed while the answer was waited for."""
        step, length = self.scenario.exchange_every_ms, self.scenario.length_ms
        last_ms = min(self._ms(self._free_ns), length - 1)
        self.missed += max(0, last_ms // step - max(due_ms, self._ms(sent_ns)) // step)

    # How late the bench is

    def _note_late(self, late_ms: float) -> None:
        self._late_ms = late_ms
        self._late_turns += late_ms > self.scenario.late_limit_ms
        if late_ms > self._worst_ms:
            self._worst_ms, self._worst_at_ms = late_ms, self.t_ms
        self._rest[-2:] = self._figures()

    def _judge_lateness(self) -> None:
        """A bench that was late has tested something else than the scenario says."""
        self._note_late(self._held_up_ms())
        if self._late_turns:
            self._doubt(
                f"the bench was late by more than late_limit, {self.scenario.late_limit_ms} ms, in "
                f"{self._late_turns} of {self._turns} exchanges, at worst by {self._worst_ms:.1f} ms at "
                f"{self._worst_at_ms / 1000:.3f} s. Let nothing else run beside it, or "
                "give a longer late_limit."
            )

    # What the device says, and when

    def heard(self, message: Heard) -> None:
        """Stamp what the device says beside its answers; `_catch_up` lets it happen."""
        if not self._live or self._booting:
            self._hear_now(message)
            return
        late = self._asking and self.device.has_answer
        arrivals = self._after_answer if late else self._arrivals
        arrivals.append((self._ms(self.clock.now_ns()), message))

    def _hear_now(self, message: Heard) -> None:
        """A `now` without a run, or from a device that starts, changes nothing in the plant."""
        if not isinstance(message, Now):
            super().heard(message)

    def _catch_up(self) -> None:
        """Let what has arrived happen, each at its own instant."""
        arrivals, self._arrivals = self._arrivals, []
        for stamp_ms, message in arrivals:
            self._advance(max(stamp_ms, self.t_ms))
            if not self.power_cuts and not self._restoring:
                self._arrive(message)
                self._record(self.t_ms)

    def _arrive(self, message: Heard | Outputs) -> None:
        if isinstance(message, tuple):
            self._take(message)
        elif isinstance(message, Now):
            self._take(self._changed(dict(message.values)))
        else:
            super().heard(message)
            if not self._outputs:  # A figure that is on record.
                self._take(self._known)

    def _changed(self, values: dict[int, int | None]) -> Outputs:
        """All outputs after a `now`, which may list some."""
        numbers = [channel.number for channel in self.device.identity.outputs]
        strange = sorted(values.keys() - set(numbers))
        if strange:
            raise DeviceError(
                f"the device sent `now` for output {strange[0]}, which it does not have. Mend its `now`."
            )
        return tuple(values.get(number, old) for number, old in zip(numbers, self._known, strict=True))

    def _take(self, outputs: Outputs) -> None:
        self._known = outputs
        super()._take(outputs)

    def _hear_out(self) -> None:
        """The run is over: what the device said last may say why."""
        self._live = False
        for _, message in (*self._arrivals, *self._after_answer):
            if not isinstance(message, tuple):
                self._hear_now(message)
        self._arrivals.clear()
        self._after_answer.clear()

    # A power cut

    def _restore_power(self) -> None:
        """The power is back at this instant; the device starts when nothing else is going on with it."""
        self._restoring = True

    def _start_again(self) -> None:
        """Start the device, which takes its time while the plant goes on with all outputs off."""
        self._restoring, self._booting = False, True
        self._arrivals.clear()
        self.device.restart()
        self._booting = False
        self._advance(max(self._ms(self.clock.now_ns()), self.t_ms))
        if self.power_cuts or self._restoring:
            return  # Cut once more while it started.
        outputs = self.device.back(self._clock())
        self._free_ns = self.clock.now_ns()
        self._arrivals.append((self._ms(self._free_ns), outputs))
        self._catch_up()
        self._panel.forgotten()
        self._panel_moved = True
        self.event("bench", "the device has its power back and has started again")
