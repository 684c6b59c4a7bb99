"""A gas burner: valve, igniter, flame, flame signal, and unburned gas in the space around it.

The gas valve passes gas once it has finished travelling. Gas and spark together for the light-up delay give a
flame, which stands as long as gas passes. Gas that passes without a flame gathers in the fire space, well
mixed with air that ventilation (and the gas itself) replaces; it burns at once when the burner lights.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault, FaultSize, Parameter
from plants.kernel.network import Place, level_of
from plants.media.gas import GASES
from plants.parts.part import Part

LATE_LIGHT_LFL = 10.0
"""A flame that finds this much gas [% of the lower flammability limit] is reported as a delayed ignition."""


def parameters() -> tuple[Parameter, ...]:
    """What can be set on a gas burner."""
    return (
        Parameter(
            "burner_power", "kW", 9.0, 0.5, 60.0, "assumed", "heat input of the gas, higher heating value"
        ),
        Parameter(
            "burner_efficiency", "%", 60.0, 5.0, 100.0, "assumed", "share of the input that heats the base"
        ),
        Parameter("gas", "count", 0.0, 0.0, 2.0, "NFPA 497 limits", "0 propane, 1 natural gas, 2 butane"),
        Parameter(
            "valve_open_time", "s", 0.3, 0.0, 30.0, "common practice: under 1 s", "gas valve, shut to open"
        ),
        Parameter(
            "valve_close_time", "s", 0.3, 0.0, 30.0, "common practice: under 1 s", "gas valve, open to shut"
        ),
        Parameter("light_up_delay", "s", 1.2, 0.0, 60.0, "assumed", "from gas and spark to a flame"),
        Parameter("flame_signal_delay", "s", 0.3, 0.0, 60.0, "assumed", "lag of the flame signal, both ways"),
        Parameter("fire_space", "L", 150.0, 10.0, 5000.0, "assumed", "space in which unburned gas gathers"),
        Parameter("ventilation", "L/s", 12.0, 0.0, 1000.0, "assumed", "fresh air through the fire space"),
    )


class GasBurner(Part):
    """Heats `into`; see the module for what it does."""

    saved = (
        "valve_command", "igniter", "gas_passes", "flame", "flame_signal", "unlit_m3_per_s",
        "_stuck_open", "_stuck_shut", "_extra_ms", "_no_light", "_stood_ms", "_lost",
        "_since_ms", "_travel", "_target", "_light", "_signal", "_gone",
    )  # fmt: skip

    def __init__(self, net: Builder, into: Place, setup: dict[str, float]) -> None:
        self._net, self._queue = net, net.queue
        gas = GASES[round(setup["gas"])]
        self._watts = setup["burner_power"] * 1000.0
        self._useful = self._watts * setup["burner_efficiency"] / 100.0
        self._kg_per_s = self._watts / gas.heating_value
        self._heating_value = gas.heating_value
        self._m3_per_s = self._kg_per_s / gas.density
        self._fresh, self._space = setup["ventilation"] * 0.001, setup["fire_space"] * 0.001
        self._percent = 100.0 / (gas.density * self._space * gas.flammable_from / 100.0)
        self._open_ms, self._close_ms, self._light_ms, self._signal_ms = (
            round(setup[name] * 1000)
            for name in ("valve_open_time", "valve_close_time", "light_up_delay", "flame_signal_delay")
        )
        self.valve_command = self.igniter = self.gas_passes = self.flame = self.flame_signal = False
        self._stuck_open = self._stuck_shut = self._no_light = self._target = False
        self._lost = self._extra_ms = self._stood_ms = self._travel = self._light = self._signal = (
            self._gone
        ) = 0
        self._since_ms = -1
        self.unlit_m3_per_s = 0.0
        net.parts.append(self)
        self._connect(net, into)
        self._offer_faults(net)

    def _connect(self, net: Builder, into: Place) -> None:
        self.heat = net.heat_source("burner heat", into, lambda: self._useful if self.flame else 0.0)
        metered = net.state("gas metered", 0.0, "gas")
        self._vented = net.state("gas vented", 0.0, "gas")
        self._burned = net.state("gas burned", 0.0, "gas")
        self._unburned = net.state("gas unburned", 0.0, "gas")
        for name, store, lit in (("burning", self._burned, True), ("escaping", self._unburned, False)):
            slot = net.input(f"gas {name}", 0.0)
            net.input_values.append((slot, partial(self._gas_flow, lit)))
            net.transfer(level_of(slot), 1.0, metered, store)
        net.transfer(level_of(self._unburned), self._replaced, self._unburned, self._vented)
        for event, handler in (
            ("gas valve", self._travelled), ("flame lights", self._lit), ("flame signal", self._signalled),
            ("flame blown out", self._blown_out),
        ):  # fmt: skip
            net.queue.handle(event, handler)

    def _gas_flow(self, lit: bool) -> float:
        return self._kg_per_s if self.gas_passes and self.flame is lit else 0.0

    def _replaced(self) -> float:
        """Air changes of the fire space [1/s]: ventilation, and the gas that pushes air out."""
        return (self._fresh + self.unlit_m3_per_s) / self._space

    def unburned_text(self) -> str:
        """Unburned gas [% of the lower flammability limit] over x."""
        return f"x[{self._unburned.index}]*{self._percent!r}"

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
        if self._stuck_open and (self.gas_passes or self._target):
            wanted = True
        if wanted == self._target:
            return
        self._queue.cancel(self._travel)
        self._target = wanted
        self._travel = self._queue.after(
            self._open_ms if wanted else self._close_ms, "gas valve", float(wanted)
        )

    def _travelled(self, is_open: float) -> None:
        if self.gas_passes != bool(is_open):
            self.gas_passes = bool(is_open)
            self._net.tell("gas valve open" if is_open else "gas valve shut")
        if not self.gas_passes:
            self._put_out("flame out: no gas")
        self._try_light()

    def _try_light(self) -> None:
        self._count_unlit()
        self._queue.cancel(self._light)
        if not (self.gas_passes and self.igniter) or self.flame:
            self._since_ms = -1
            return
        if self._since_ms < 0:
            self._since_ms = self._queue.now_ms
        if not self._no_light:
            due = self._since_ms + self._light_ms + self._extra_ms
            self._light = self._queue.after(due - self._queue.now_ms, "flame lights")

    def _lit(self, _: float) -> None:
        kg = self._net.x(self._unburned)
        self._net.jump(self._unburned, self._burned, kg)
        self.flame = True
        self._since_ms = -1
        late = kg * self._percent >= LATE_LIGHT_LFL
        energy = f"delayed ignition of {kg * self._heating_value / 1000.0:.0f} kJ of unburned gas, "
        self._net.tell(f"{energy if late else ''}flame lights")
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
        self._put_out("flame lost")
        self._try_light()

    def _flame_changed(self) -> None:
        self._count_unlit()
        self._queue.cancel(self._signal)
        if self.flame != self.flame_signal:
            self._signal = self._queue.after(self._signal_ms, "flame signal", float(self.flame))

    def _count_unlit(self) -> None:
        self.unlit_m3_per_s = self._m3_per_s if self.gas_passes and not self.flame else 0.0

    def _signalled(self, seen: float) -> None:
        self.flame_signal = bool(seen)
        self._net.tell("flame signal on" if seen else "flame signal off")

    def _offer_faults(self, net: Builder) -> None:
        stood = FaultSize("stood", "s", 3.0, 0.1, 600.0, "a flame that lights later is lost after this time")
        extra = FaultSize("extra", "s", 4.0, 0.0, 120.0, "added to the light-up delay")
        for fault, change in (
            (Fault("flame-lost", (), (stood,),
                   "a gust or a boil-over puts the flame out, once; with no flame standing, the next one",
                   "gas flows unburned until the controller notices and shuts the valve"), self._lose),
            (Fault("slow-to-light", (), (extra,), "cold mixture, a badly placed or weak spark",
                   "unburned gas gathers and lights with a thump"), self._slow),
            (Fault("does-not-light", (), (), "no spark at the burner, or air in the gas line",
                   "unburned gas in every trial; endless tries would fill the space"), self._never_light),
            (Fault("valve-stuck-open", (), (),
                   "dirt on the seat or a welded relay: once open, the valve does not shut",
                   "heat or unburned gas that the controller cannot stop with this valve"), self._stick_open),
            (Fault("valve-stuck-closed", (), (), "a burnt-out coil or a broken wire: the valve does not open",
                   "a trial without gas: the controller must give up and say so"), self._stick_shut),
        ):  # fmt: skip
            net.fault(fault, change)

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

    def _stick_open(self, active: Sequence[ActiveFault]) -> None:
        self._stuck_open = bool(active)
        self._move_valve()

    def _stick_shut(self, active: Sequence[ActiveFault]) -> None:
        self._stuck_shut = bool(active)
        self._move_valve()
