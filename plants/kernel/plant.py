"""What every plant offers to a bench: commands, time, signals, readings, faults, balance, save."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeVar

from plants.kernel.balance import Balance, balance_of
from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.compiled import Names, function
from plants.kernel.describe import (
    Actuator,
    Choice,
    Fault,
    Parameter,
    Probe,
    Signal,
    chosen,
    complete,
    spelled,
    unknown,
)
from plants.kernel.events import NEVER
from plants.kernel.noise import NORMAL, noise_lines, noise_text
from plants.kernel.ramp import Ramp, at_share

if TYPE_CHECKING:
    from plants.kernel.stepping import Stepper

STEPS_MS = (250, 125, 62, 31, 15, 7)
"""Caps of one step, so that the result does not depend on the exchange interval: the first as a rule, the
second where a part is touchy (water flows in a pipe, or boils), the others while rates bend sharply."""
SMOOTH_K = 1e-5
"""What half a second of bending rates may cost in accuracy; steps are shorter where need be. [K]"""
LOOK_AGAIN_MS = 1000
"""After so long it is asked again whether steps must be short."""

T = TypeVar("T")


class _Offered(Generic[T]):
    """A tuple that a plant offers; on the class it is that of a plant with default parameters."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __get__(self, plant: Plant | None, kind: type[Plant]) -> tuple[T, ...]:
        offered: tuple[T, ...] = (plant or kind._example())._offered[self._name]
        return offered


class Plant:
    """A simulated process. A ready plant gives the class attributes below and `build`.

    Parameters
    ----------
    setup : mapping of str to float or str
        Parameters that differ from their defaults, each in its own unit, and choices, each one of its words.
    seed : int
        Chooses the noise of the readings.

    Raises
    ------
    ValueError
        If a parameter is unknown or out of its range, or a choice none of its words; the message offers
        what is right.
    """

    name: ClassVar[str]
    about: ClassVar[str]
    diagram: ClassVar[str]
    parameters: ClassVar[tuple[Parameter, ...]]
    choices: ClassVar[tuple[Choice, ...]] = ()
    signals = _Offered[Signal]("signals")
    probes = _Offered[Probe]("probes")
    actuators = _Offered[Actuator]("actuators")
    faults = _Offered[Fault]("faults")
    _examples: ClassVar[dict[type[Plant], Plant]] = {}

    on_change: Callable[[int, str], None] | None

    def __init__(self, setup: Mapping[str, float | str] = {}, *, seed: int = 0) -> None:
        self._assemble(setup, seed)
        self._start_up()

    @classmethod
    def assembled(cls, setup: Mapping[str, float | str] = {}) -> Plant:
        """A plant that has been put together and not started: it offers, and cannot be played.

        It is there long before the arithmetic of one that can be. Raises ValueError as a plant does.
        """
        plant = cls.__new__(cls)
        plant._assemble(setup, 0)
        return plant

    def _assemble(self, setup: Mapping[str, float | str], seed: int) -> None:
        words = [choice.name for choice in self.choices]
        self.setup = complete(self.name, "parameter", self.parameters, setup, words)
        self.seed = seed
        self.time_ms = 0
        self.on_change = None
        self._net = net = Builder(seed, chosen(self.name, self.choices, setup))
        self.build(net, self.setup)
        self._offered: dict[str, tuple[Any, ...]] = {
            "signals": tuple(entry.signal for entry in net.signals),
            "probes": tuple(entry.probe for entry in net.probes),
            "actuators": tuple(actuator for actuator, _ in net.actuators),
            "faults": tuple(entry.fault for entry in net.faults),
        }

    def _start_up(self) -> None:
        from plants.kernel.stepping import Stepper  # numpy, which takes longer to load than all the rest

        net = self._net
        self._stepper: Stepper = Stepper(net)
        net.stepper = self._stepper
        self._commanded = [0.0] * len(net.actuators)
        self._active: dict[int, ActiveFault] = {}
        self._full: dict[int, dict[str, float]] = {}
        self._ramps: dict[int, Ramp] = {}
        self._last_token = 0
        self._lurking: set[tuple[str, str | None]] = set()
        net.queue.handle("fault ramps", self._ramp_on)
        self._smooth_ms, self._look_ms, self._break_ms = STEPS_MS[0], NEVER, NEVER
        self._start = self._stepper.now
        self._sample = self._compile_sample()
        self._settle()

    def build(self, net: Builder, setup: dict[str, float]) -> None:
        """Put the plant together from parts."""
        raise NotImplementedError

    @classmethod
    def _example(cls) -> Plant:
        """A plant of this kind with default parameters, kept for describing the kind."""
        if cls not in Plant._examples:
            Plant._examples[cls] = cls.assembled()
        return Plant._examples[cls]

    # time

    def command(self, values: Sequence[float]) -> None:
        """Drive the actuators, one value each in the order of `actuators`, from now on."""
        if list(values) == self._commanded:
            return
        for number, (_, drive) in enumerate(self._net.actuators):
            if values[number] != self._commanded[number]:
                drive(values[number])
        self._commanded = list(values)
        self._settle(changed=True)

    def advance(self, until_ms: int) -> None:
        """Carry the plant on to `until_ms`; events up to and at that time happen at their own millisecond."""
        now, stepper, net = self.time_ms, self._stepper, self._net
        if until_ms - now == stepper.ahead_ms and now < until_ms < self._next_ms and not net.stale:
            stepper.carry(stepper.length)
            self.time_ms = net.queue.now_ms = until_ms
            if net.stale:
                self._renew()
            return
        queue, step = net.queue, stepper.step
        while True:
            if self._next_ms <= now:
                self._happen()
            elif now >= until_ms:
                queue.now_ms = now
                return
            else:
                length = min(until_ms, self._next_ms) - now
                if length > self._cap_ms:
                    length = -(-length // -(-length // self._cap_ms))
                step(length)
                self.time_ms = now = now + length
                if self._net.stale:
                    self._renew()

    def _happen(self) -> None:
        self._net.queue.now_ms = self.time_ms
        self._settle(changed=self._net.queue.run_due(), look=self.time_ms >= self._look_ms)

    def _renew(self) -> None:
        self._net.queue.now_ms = self.time_ms
        for refreeze in self._net.refreeze:
            refreeze(self._stepper.now)
        self._settle(look=True)
        self._net.stale = False

    def _settle(self, *, changed: bool = False, look: bool = False) -> None:
        """Take over what may have changed, plan the next stop, pass on what there is to tell.

        Looks ahead if asked to, and if what was `changed` by an event bears on the steps.
        """
        net, stepper = self._net, self._stepper
        net.queue.now_ms = self.time_ms
        renewed = stepper.settle()
        if look or (changed and renewed):
            self._look_ahead()
        if look or renewed or self.time_ms >= self._break_ms:
            self._cap_ms = stepper.longest_step_ms(self._smooth_ms)
            soonest = min((delay.next_break_s() for delay in net.delays), default=NEVER)
            self._break_ms = self.time_ms + int(soonest * 1000.0 - 1e-6) if soonest < 1e9 else NEVER
        self._next_ms = min(net.queue.next_ms(), self._break_ms, self._look_ms)
        told, net.told = net.told, []
        if self.on_change is not None:
            for text in told:
                self.on_change(self.time_ms, text)

    def _look_ahead(self) -> None:
        """See how long steps may be now."""
        stale, wanted_ms = self._net.stale, self._stepper.smooth_s(SMOOTH_K) * 1000.0
        self._net.stale = stale
        usual = STEPS_MS[any(touchy() for touchy in self._net.touchy)]
        self._smooth_ms = next((ms for ms in STEPS_MS if ms <= min(usual, wanted_ms)), STEPS_MS[-1])
        self._look_ms = NEVER if self._smooth_ms == usual else self.time_ms + LOOK_AGAIN_MS

    # looking

    def sample(self) -> list[float]:
        """All signals now, in the order of `signals`."""
        return self._sample()

    def _compile_sample(self) -> Callable[[], list[float]]:
        names = Names()
        texts = [entry.text(names) for entry in self._net.signals]
        body = [f"x = {names.of(self._stepper)}.now", f"return [{', '.join(texts)}]"]
        return function("", body, names)

    def reader(self, wanted: Sequence[tuple[str, str]]) -> Callable[[], list[int | None]]:
        """A function that reads (probe, unit) pairs: integers, None where there is no reading.

        Raises
        ------
        ValueError
            If a probe or its unit does not exist.
        """
        names = Names()
        by_name = {entry.probe.name: number for number, entry in enumerate(self._net.probes)}
        texts, used = [], set()
        for probe, unit in wanted:
            if probe not in by_name:
                raise unknown(self.name, "probe", probe, by_name)
            number = by_name[probe]
            entry = self._net.probes[number]
            if unit not in entry.probe.units:
                raise ValueError(
                    f'{self.name}: {probe} cannot be read in "{unit}". Use {spelled(entry.probe.units)}.'
                )
            text = entry.text(names, unit, noise_text(names.of(NORMAL), number))
            used.update([number] if names.of(NORMAL) in text else [])
            texts.append(text)
        body = [
            f"x = {names.of(self._stepper)}.now",
            f"t = {names.of(self)}.time_ms",
            *noise_lines("t", self.seed, used),
        ]
        return function("", [*body, f"return [{', '.join(texts)}]"], names)

    def balance(self) -> Balance:
        """The books since the plant was built."""
        return balance_of(self._named(self._start), self._named(self._stepper.now))

    def _named(self, values: Sequence[float]) -> dict[str, tuple[str, float]]:
        return {slot.name: (kind, values[slot.index]) for slot, _, kind in self._net.states}

    # faults

    def begin_fault(
        self, kind: str, place: str | None, sizes: Mapping[str, float], ramp_ms: int = 0
    ) -> int:
        """Let a fault begin now; returns the token that ends it.

        Its sizes grow from nothing in `ramp_ms`, those that can.

        Raises
        ------
        ValueError
            If kind, place or a size does not exist here, or a size is out of its range.
        """
        kinds = {entry.fault.kind: entry.fault for entry in self._net.faults}
        fault = kinds.get(kind)
        if fault is None:
            raise unknown(self.name, "fault", kind, kinds)
        if fault.places and place not in fault.places:
            raise unknown(f"{self.name}: {kind}", "place", place or "", fault.places)
        if not fault.places and place is not None:
            raise ValueError(
                f'{self.name}: {kind} has no place, but "{place}" is given. Leave the place out.'
            )
        whole = complete(f"{self.name}: {kind}", "size", fault.sizes, sizes)
        self._last_token += 1
        if fault.lurks:
            self._lurking.add((kind, place))
        token = self._last_token
        self._full[token] = whole
        self._active[token] = ActiveFault(kind, place, whole)
        self._ramps[token] = Ramp(self.time_ms, ramp_ms, 0.0, 1.0)
        self._change_fault(token)
        return token

    def idle_faults(self) -> list[str]:
        """Faults that began and had nothing to act on so far: kinds, each with its place if it has one."""
        idle = self._lurking - self._net.acted
        return sorted(f"{kind} {place}" if place else kind for kind, place in idle)

    def end_fault(self, token: int, fade_ms: int = 0) -> None:
        """Let a fault end now, or fade to nothing in `fade_ms`; one that has ended already is ignored."""
        if token in self._active:
            ramp = self._ramps.get(token)
            reached = ramp.share(self.time_ms) if ramp else 1.0
            self._net.queue.cancel(ramp.event if ramp else 0)
            self._ramps[token] = Ramp(self.time_ms, fade_ms, reached, 0.0)
            self._change_fault(token)

    def _change_fault(self, token: int) -> None:
        self._net.queue.now_ms = self.time_ms
        self._ramp_on(float(token))
        self._settle(changed=True)

    def _ramp_on(self, number: float) -> None:
        """Take over the sizes that a fault has reached, and plan the next step of its ramp."""
        token, now_ms, queue = int(number), self._net.queue.now_ms, self._net.queue
        ramp, fault = self._ramps[token], self._active[token]
        entries = [entry for entry in self._net.faults if entry.fault.kind == fault.kind]
        sizes = at_share(entries[0].fault.sizes, self._full[token], ramp.share(now_ms))
        self._active[token] = ActiveFault(fault.kind, fault.place, sizes)
        if not ramp.over(now_ms):
            event = queue.after(ramp.wait_ms(now_ms), "fault ramps", number)
            self._ramps[token] = replace(ramp, event=event)
        else:
            del self._ramps[token]
            if not ramp.end:
                del self._active[token], self._full[token]
        active = [each for each in self._active.values() if each.kind == fault.kind]
        for entry in entries:
            entry.change(active)

    # keeping

    def save(self) -> object:
        """The whole state, to be given to `restore` of a plant with the same set-up and seed."""
        net = self._net
        return (
            self.time_ms, self._stepper.save(), net.queue.save(), [part.save() for part in net.parts],
            list(self._commanded), dict(self._active), self._last_token,
            self._next_ms, self._cap_ms, net.stale, self._smooth_ms, self._look_ms, self._break_ms,
            set(self._lurking), set(net.acted), dict(self._full), dict(self._ramps),
        )  # fmt: skip

    def restore(self, saved: Any) -> None:
        """Go back to a saved state, exactly."""
        net = self._net
        self.time_ms, stepped, queue, parts, self._commanded, active, self._last_token = saved[:7]
        self._next_ms, self._cap_ms, net.stale, self._smooth_ms, self._look_ms, self._break_ms = saved[7:13]
        self._lurking, net.acted = set(saved[13]), set(saved[14])
        self._full, self._ramps = dict(saved[15]), dict(saved[16])
        net.queue.restore(queue)
        for part, state in zip(net.parts, parts, strict=True):
            part.restore(state)
        self._commanded, self._active = list(self._commanded), dict(active)
        self._stepper.restore(stepped)
