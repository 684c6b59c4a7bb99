"""A pump, its circuit and the switch that sees the flow.

An air lock is a bubble in the pump: it turns and moves little or nothing, until it has stood still for long
enough for the air to rise out of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import pi

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault, FaultSize, Parameter
from plants.media.water import SPECIFIC_HEAT
from plants.parts.part import Part

FLOW_DENSITY = 985.0
"""Water in pumps and pipes [kg/m3], one value so that what flows in flows out; right at 56 degC."""


_STOPS = Fault(
    "pump-stops", (), (), "the pump stands still although it is switched on",
    "heat without flow: stagnant mash scorches in the coil, a loop on a dead probe overheats",
    lurks=True, actuators=("pump",),
)  # fmt: skip
_RESTRICTED = Fault(
    "flow-restricted", (),
    (FaultSize("fraction", "%", 30.0, 0.0, 100.0, "share of the flow that is left", nothing=100.0),),
    "a stuck grain bed or a half-shut valve lets only part of the flow through",
    "less flow through the coil: hotter at its outlet, longer dead time",
    lurks=True, actuators=("pump",),
)  # fmt: skip
_AIR_LOCK = Fault(
    "air-lock", (),
    (FaultSize("fraction", "%", 0.0, 0.0, 100.0, "share of the flow that is left", nothing=100.0),
     FaultSize("rises", "s", 5.0, 0.1, 3600.0, "standing still so long lets the air rise out of it")),
    "a bubble after a hose was opened or the mash boiled: the pump turns, nothing moves until it has stood",
    "the pump is heard to run, so a person trusts the flow; nothing takes the heat out of the coil",
    lurks=True, actuators=("pump",),
)  # fmt: skip


class Circuit(Part):
    """One closed run of water that a pump keeps moving."""

    saved = ("l_per_s",)

    def __init__(self, net: Builder) -> None:
        self.l_per_s = 0.0
        net.parts.append(self)

    def heat_flow(self) -> float:
        """Heat carried per degree [W/K]."""
        return self.l_per_s * 0.001 * FLOW_DENSITY * SPECIFIC_HEAT


def parameters() -> tuple[Parameter, ...]:
    """What can be set on a pump."""
    return (
        Parameter("flow", "L/min", 6.0, 0.5, 20.0, "assumed", "recirculation while the pump turns"),
        Parameter("flow_switch_at", "L/min", 2.0, 0.1, 20.0, "assumed", "flow that the flow switch needs"),
        Parameter("flow_switch_delay", "s", 0.5, 0.0, 10.0, "assumed", "lag of the flow switch"),
        Parameter(
            "pump_start_delay", "s", 0.2, 0.0, 5.0, "assumed", "from the command to full flow, and to none"
        ),
    )


class Pump(Part):
    """Turns on command after a short delay; a flow switch follows the flow."""

    saved = (
        "commanded", "turning", "flow_seen", "_failed", "_open", "_change", "_switch", "_to_see", "_air",
        "_bubbles", "_rise", "_rises_ms", "_bled",
    )  # fmt: skip

    def __init__(self, net: Builder, circuit: Circuit, setup: dict[str, float]) -> None:
        self._net, self._queue, self._tell, self._circuit = net, net.queue, net.tell, circuit
        self._full = setup["flow"] / 60.0
        self._threshold = setup["flow_switch_at"] / 60.0
        self._lag_ms = round(setup["flow_switch_delay"] * 1000)
        self._start_ms = round(setup["pump_start_delay"] * 1000)
        self.commanded = self.turning = self.flow_seen = False
        self._failed = self._to_see = self._bled = False
        self._open = self._air = 1.0
        self._change = self._switch = self._bubbles = self._rise = self._rises_ms = 0
        net.parts.append(self)
        self._queue.handle("pump turns", self._turn)
        self._queue.handle("flow switch", self._see)
        self._queue.handle("air rises", self._bleed)
        net.fault(_STOPS, lambda active: self._fail(bool(active)))
        net.fault(
            _RESTRICTED,
            lambda active: self._restrict(min((a.sizes["fraction"] for a in active), default=100.0)),
        )
        net.fault(_AIR_LOCK, self._lock)

    def command(self, value: float) -> None:
        """Switch on (not 0) or off."""
        self.commanded = bool(value)
        self._plan()

    def _fail(self, failed: bool) -> None:
        self._failed = failed
        self._plan()

    def _plan(self) -> None:
        self._queue.cancel(self._change)
        wanted = self.commanded and not self._failed
        if self.commanded and self._failed:
            self._net.acts("pump-stops")
        if wanted != self.turning:
            self._change = self._queue.after(self._start_ms, "pump turns", float(wanted))

    def _turn(self, on: float) -> None:
        self.turning = bool(on)
        self._tell("pump turns" if on else "pump stands")
        self._queue.cancel(self._rise)
        if self._air < 1.0 and not on:
            self._rise = self._queue.after(self._rises_ms, "air rises")
        self._flow()

    def _restrict(self, percent: float) -> None:
        self._open = percent / 100.0
        self._flow()

    def _lock(self, active: Sequence[ActiveFault]) -> None:
        """Take over the air locks in force; one that has been bled is gone until the next begins."""
        if len(active) > self._bubbles:
            self._bled = False
        self._bubbles = len(active)
        self._air = 1.0
        if active and not self._bled:
            self._air = min(fault.sizes["fraction"] for fault in active) / 100.0
            self._rises_ms = round(max(fault.sizes["rises"] for fault in active) * 1000.0)
        self._flow()

    def _bleed(self, _: float) -> None:
        self._bled, self._air = True, 1.0
        self._tell("the air has risen out of the pump")

    def _flow(self) -> None:
        if self.turning and self._open < 1.0:
            self._net.acts("flow-restricted")
        if self.turning and self._air < 1.0:
            self._net.acts("air-lock")
        self._circuit.l_per_s = self._full * min(self._open, self._air) if self.turning else 0.0
        seen = self._circuit.l_per_s >= self._threshold
        if seen != self._to_see:
            self._to_see = seen
            self._queue.cancel(self._switch)
            if seen != self.flow_seen:
                self._switch = self._queue.after(self._lag_ms, "flow switch", float(seen))

    def _see(self, seen: float) -> None:
        self.flow_seen = bool(seen)
        self._tell("flow switch sees flow" if seen else "flow switch sees no flow")

    def offer(self, net: Builder) -> None:
        """Add the pump's signals and its actuator."""
        net.flag("pump", "the pump turns", self, "turning")
        net.attribute("flow", "L/min", "recirculation", self, "flow")
        net.flag("flow_seen", "the flow switch sees flow", self, "flow_seen")
        net.actuator("pump", "bool", "recirculation pump", self.command)

    def speed_in(self, bore_mm: float | None) -> Callable[[], float] | None:
        """The speed in a pipe of that bore, to be asked at any time; none for no pipe."""
        return None if bore_mm is None else lambda: self.speed(bore_mm)

    def speed(self, bore_mm: float) -> float:
        """Mean speed of the water in a pipe of that bore [m/s]."""
        return self._circuit.l_per_s * 1000.0 / (pi / 4.0 * bore_mm * bore_mm)

    @property
    def flow(self) -> float:
        """Flow now [L/min]."""
        return self._circuit.l_per_s * 60.0
