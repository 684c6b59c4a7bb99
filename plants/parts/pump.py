"""A pump, its circuit and the switch that sees the flow."""

from __future__ import annotations

from collections.abc import Callable
from math import pi

from plants.kernel.builder import Builder
from plants.kernel.describe import Fault, FaultSize, Parameter
from plants.media.water import SPECIFIC_HEAT
from plants.parts.part import Part

FLOW_DENSITY = 985.0
"""Water in pumps and pipes [kg/m3], one value so that what flows in flows out; right at 56 degC."""


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

    saved = ("commanded", "turning", "flow_seen", "_failed", "_open", "_change", "_switch")

    def __init__(self, net: Builder, circuit: Circuit, setup: dict[str, float]) -> None:
        self._queue, self._tell, self._circuit = net.queue, net.tell, circuit
        self._full = setup["flow"] / 60.0
        self._threshold = setup["flow_switch_at"] / 60.0
        self._lag_ms = round(setup["flow_switch_delay"] * 1000)
        self._start_ms = round(setup["pump_start_delay"] * 1000)
        self.commanded = self.turning = self.flow_seen = False
        self._failed, self._open = False, 1.0
        self._change = self._switch = 0
        net.parts.append(self)
        self._queue.handle("pump turns", self._turn)
        self._queue.handle("flow switch", self._see)
        net.fault(
            Fault("pump-stops", (), (), "the pump stands still although it is switched on",
                  "heat without flow: stagnant mash scorches in the coil, a loop on a dead probe overheats"),
            lambda active: self._fail(bool(active)),
        )  # fmt: skip
        net.fault(
            Fault("flow-restricted", (),
                  (FaultSize("fraction", "%", 30.0, 0.0, 100.0, "share of the flow that is left"),),
                  "a stuck grain bed or a half-shut valve lets only part of the flow through",
                  "less flow through the coil: hotter at its outlet, longer dead time"),
            lambda active: self._restrict(min((a.sizes["fraction"] for a in active), default=100.0)),
        )  # fmt: skip

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
        if wanted != self.turning:
            self._change = self._queue.after(self._start_ms, "pump turns", float(wanted))

    def _turn(self, on: float) -> None:
        self.turning = bool(on)
        self._tell("pump turns" if on else "pump stands")
        self._flow()

    def _restrict(self, percent: float) -> None:
        self._open = percent / 100.0
        self._flow()

    def _flow(self) -> None:
        self._circuit.l_per_s = self._full * self._open if self.turning else 0.0
        self._queue.cancel(self._switch)
        seen = self._circuit.l_per_s >= self._threshold
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
