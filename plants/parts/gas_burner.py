"""A gas burner: valve, igniter or pilot, flame, flame signal, and unburned gas in the space around it.

The gas valve passes gas once it has finished travelling. Enough gas, with the spark or a lit pilot, for the
light-up delay gives a flame, which stands as long as enough gas flows. Gas that passes without a flame
gathers in the fire space and burns at once when the burner lights. The flow goes with the root of the gas
pressure. What can be set on it is in `burner_setup`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import sqrt

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.network import Place
from plants.media.gas import GASES
from plants.parts.burner_faults import BURNER_FAULTS
from plants.parts.burner_setup import input_w
from plants.parts.fire_space import FireSpace
from plants.parts.part import Part
from plants.parts.pilot import PILOT_OUT, Pilot

LATE_LIGHT_LFL = 10.0
"""A flame that finds this much gas [% of the lower flammability limit] is reported as a delayed ignition."""


class GasBurner(Part):
    """Heats `into`; see the module. `thump`: the most heat that gathered gas has given at once [J]."""

    saved = (
        "valve_command", "igniter", "gas_passes", "flame", "flame_signal", "_pressure", "_weak", "_weakened",
        "_flicker", "_leak", "_later_ms", "_stuck_open", "_stuck_shut", "_extra_ms", "_no_light", "_stood_ms",
        "_lost", "_since_ms", "_travel", "_target", "_light", "_signal", "_gone", "thump",
    )  # fmt: skip

    def __init__(self, net: Builder, into: Place, setup: dict[str, float]) -> None:
        self._net, self._queue = net, net.queue
        gas = GASES[net.choices["gas"]]
        self._heating_value, watts = gas.heating_value, input_w(setup, net.choices)
        self._useful, self._kg_per_s = setup["burner_efficiency"] / 100.0, watts / gas.heating_value
        self._least = setup["least_gas"] / 100.0
        self._open_ms, self._close_ms, self._light_ms, self._signal_ms = (
            round(setup[name] * 1000)
            for name in ("valve_open_time", "valve_close_time", "light_up_delay", "flame_signal_delay")
        )
        self.valve_command = self.igniter = self.gas_passes = self.flame = self.flame_signal = False
        self._stuck_open = self._stuck_shut = self._no_light = self._target = False
        self._lost = self._extra_ms = self._later_ms = self._stood_ms = 0
        self._travel = self._light = self._signal = self._gone = 0
        self._pressure, self._weak, self._leak, self._flicker = 1.0, 1.0, 0.0, (0, 0)
        self._since_ms, self._weakened, self.thump = -1, False, 0.0
        self._pilot = Pilot(net, setup, self._changed) if net.choices.get("ignition") == "pilot" else None
        net.parts.append(self)
        self.heat = net.heat_source("burner heat", into, self._heat)
        air, space = setup["ventilation"] * 0.001, setup["fire_space"] * 0.001
        self._space = FireSpace(net, gas, space, air, self._burning, self._escaping)
        self.unburned_text = self._space.percent_text
        for event, handler in (
            ("gas valve", self._travelled), ("flame lights", self._lit), ("flame signal", self._signalled),
            ("flame blown out", self._blown_out),
        ):  # fmt: skip
            net.queue.handle(event, handler)
        self._offer_faults()

    def offer(self, net: Builder) -> None:
        """Add the burner's signals and its two actuators."""
        net.signal("burner_heat", "W", "heat into the base", lambda _: f"x[{self.heat.index}]", switched=True)
        net.flag("flame", "a flame stands", self, "flame")
        net.flag("gas_valve", "gas passes the valve", self, "gas_passes")
        net.flag("valve_command", "the gas valve is told to open", self, "valve_command")
        net.flag("igniter", "the spark is on", self, "igniter")
        net.flag("flame_seen", "the flame signal", self, "flame_signal")
        net.signal("unburned_gas", "%", "of the lower flammability limit", lambda _: self.unburned_text())
        about = "most heat that gathered gas has given at once, as a flame lit it"
        net.attribute("delayed_ignition", "J", about, self, "thump")
        net.actuator("gas_valve", "bool", "gas valve of the burner", self.command_valve)
        net.actuator("igniter", "bool", "spark at the burner", self.command_igniter)

    # gas

    def _share(self) -> float:
        """Gas that passes, as a share of the full flow."""
        if self._pilot and not self._pilot.held:
            return 0.0
        return (1.0 if self.gas_passes else self._leak) * self._pressure

    def _pilot_gas(self, lit: bool) -> float:
        if not self._pilot or not self._pilot.held or self._pilot.lit is not lit:
            return 0.0
        return self._pilot.watts / self._heating_value

    def _burning(self) -> float:
        return self._pilot_gas(True) + (self._share() * self._kg_per_s if self.flame else 0.0)

    def _escaping(self) -> float:
        return self._pilot_gas(False) + (0.0 if self.flame else self._share() * self._kg_per_s)

    def _heat(self) -> float:
        if self.flame and self._weakened:
            self._net.acts("weak-flame")
        return self._burning() * self._heating_value * self._useful * self._weak

    def command_valve(self, value: float) -> None:
        """Command the gas valve open (not 0) or shut."""
        self.valve_command = bool(value)
        self._move_valve()

    def command_igniter(self, value: float) -> None:
        """Switch the spark on (not 0) or off."""
        self.igniter = bool(value)
        self._try_light()

    def _move_valve(self) -> None:
        wanted = self.valve_command and not self._stuck_shut
        if self.valve_command and self._stuck_shut:
            self._net.acts("valve-stuck-closed")
        if self._stuck_open and (self.gas_passes or self._target):
            if not wanted:
                self._net.acts("valve-stuck-open")
            wanted = True
        if wanted == self._target:
            return
        self._queue.cancel(self._travel)
        self._target = wanted
        wait_ms = self._open_ms if wanted else self._close_ms + self._later_ms
        if self._later_ms and not wanted:
            self._net.acts("valve-slow-to-close")
        self._travel = self._queue.after(wait_ms, "gas valve", float(wanted))

    def _travelled(self, is_open: float) -> None:
        if self.gas_passes != bool(is_open):
            self.gas_passes = bool(is_open)
            self._net.tell("gas valve open" if is_open else "gas valve shut")
        self._changed()

    # flame

    def _changed(self) -> None:
        """Take over a flow of gas, or a pilot, that has changed."""
        if self._pressure < 1.0 and self._share():
            self._net.acts("low-gas-pressure")
        if self._share() < self._least:
            self._put_out("flame out: no gas" if not self._share() else "flame out: too little gas")
        self._try_light()

    def _try_light(self) -> None:
        self._queue.cancel(self._light)
        source = self._pilot.lit if self._pilot else self.igniter
        if not (source and self._share() >= self._least) or self.flame:
            self._since_ms = -1
            return
        if self._since_ms < 0:
            self._since_ms = self._queue.now_ms
        if self._no_light:
            self._net.acts("does-not-light")
        else:
            due = self._since_ms + self._light_ms + self._extra_ms
            self._light = self._queue.after(due - self._queue.now_ms, "flame lights")

    def _lit(self, _: float) -> None:
        percent, joules = self._space.ignite()
        self.flame = True
        self._since_ms = -1
        self.thump = max(self.thump, joules)
        if self._extra_ms:
            self._net.acts("slow-to-light")
        energy = f"delayed ignition of {joules / 1000.0:.0f} kJ of unburned gas, "
        self._net.tell(f"{energy if percent >= LATE_LIGHT_LFL else ''}flame lights")
        if self._stood_ms:
            self._gone = self._queue.after(self._stood_ms, "flame blown out")
        self._flame_changed()

    def _put_out(self, text: str) -> None:
        if self.flame:
            self.flame = False
            self._net.tell(text)
            self._queue.cancel(self._gone)
            self._flame_changed()

    def _blown_out(self, _: float) -> None:
        self._stood_ms = 0
        self._net.acts("flame-lost")
        self._put_out("flame lost")
        self._try_light()

    def _flame_changed(self) -> None:
        self._queue.cancel(self._signal)
        if self.flame != self.flame_signal:
            self._signal = self._queue.after(self._signal_ms, "flame signal", float(self.flame))
        elif self.flame:
            self._plan_flicker()

    def _signalled(self, seen: float) -> None:
        self.flame_signal = bool(seen)
        self._net.tell("flame signal on" if seen else "flame signal off")
        if self.flame:
            self._plan_flicker()

    def _plan_flicker(self) -> None:
        seen_ms, unseen_ms = self._flicker
        if unseen_ms:
            wait_ms = seen_ms if self.flame_signal else unseen_ms
            self._signal = self._queue.after(wait_ms, "flame signal", float(not self.flame_signal))

    # failing

    def _offer_faults(self) -> None:
        for kind, change in (
            ("flame-lost", self._lose), ("slow-to-light", self._slow), ("does-not-light", self._never_light),
            ("weak-flame", self._weaken), ("low-gas-pressure", self._starve),
            ("valve-stuck-open", self._stick_open), ("valve-stuck-closed", self._stick_shut),
            ("valve-leaks", self._drip), ("valve-slow-to-close", self._shut_late),
        ):  # fmt: skip
            acts: Callable[[Sequence[ActiveFault]], None] = change
            self._net.fault(BURNER_FAULTS[kind], acts)
        self._net.fault(PILOT_OUT, self._pilot_out)

    def _pilot_out(self, active: Sequence[ActiveFault]) -> None:
        if self._pilot:
            self._pilot.put_out(active)
        elif active:
            self._net.tell('no pilot to go out: ignition = "pilot" gives this burner one')

    def _lose(self, active: Sequence[ActiveFault]) -> None:
        self._stood_ms = 0
        begun = len(active) > self._lost
        self._lost = len(active)
        if begun and self.flame:
            self._blown_out(0.0)
        elif begun:
            self._stood_ms = round(active[-1].sizes["stood"] * 1000)

    def _slow(self, active: Sequence[ActiveFault]) -> None:
        self._extra_ms = round(1000 * sum(a.sizes["extra"] for a in active))
        self._try_light()

    def _never_light(self, active: Sequence[ActiveFault]) -> None:
        self._no_light = bool(active)
        self._try_light()

    def _weaken(self, active: Sequence[ActiveFault]) -> None:
        self._weakened = bool(active)
        self._weak = min((a.sizes["heat"] for a in active), default=100.0) / 100.0
        sizes = active[-1].sizes if active else {"seen": 0.0, "unseen": 0.0}
        flicker = (round(sizes["seen"] * 1000), round(sizes["unseen"] * 1000))
        if flicker != self._flicker:  # else it is a ramp of the heat: the signal goes on as it was
            self._flicker = flicker
            self._flame_changed()

    def _starve(self, active: Sequence[ActiveFault]) -> None:
        self._pressure = sqrt(min((a.sizes["pressure"] for a in active), default=100.0) / 100.0)
        self._changed()

    def _drip(self, active: Sequence[ActiveFault]) -> None:
        self._leak = max((a.sizes["leak"] for a in active), default=0.0) / 100.0
        self._changed()

    def _shut_late(self, active: Sequence[ActiveFault]) -> None:
        self._later_ms = round(1000 * sum(a.sizes["later"] for a in active))

    def _stick_open(self, active: Sequence[ActiveFault]) -> None:
        self._stuck_open = bool(active)
        self._move_valve()

    def _stick_shut(self, active: Sequence[ActiveFault]) -> None:
        self._stuck_shut = bool(active)
        self._move_valve()
