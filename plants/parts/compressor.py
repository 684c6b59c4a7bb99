"""A small refrigerating compressor with its evaporator: what it gives, and what it takes amiss.

Cooling power is linear in the temperatures of evaporator and room:

    Q = rated (1 + 0.035 (evaporator + 10) - 0.01 (room - 25))

(usual slopes of compressor tables; common practice, no source), so it fades out near -39 degC. It leaves
through the condenser into the room, as does what the motor draws.

A compressor that is switched on before the pressures have evened out cannot turn: its rotor stays locked,
draws several times the running power and cools nothing, until its thermal overload trips. The overload warms
evenly while the rotor is locked and cools evenly otherwise; it closes again once it is cold.
"""

from __future__ import annotations

from collections.abc import Sequence

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault, FaultSize, Parameter
from plants.kernel.network import Level, Place
from plants.parts.part import Part

PER_K_EVAPORATOR = 0.035
PER_K_ROOM = 0.01
RATED_EVAPORATOR = -10.0
RATED_ROOM = 25.0
_NEVER_MS = -(2**40)

_LOCKED = Fault(
    "compressor-locked", (), (), "a seized bearing or a dead start capacitor: the rotor does not turn",
    "no cooling while the motor is heated through until its overload trips, over and over",
    lurks=True, actuators=("cooler",),
)  # fmt: skip
_LEAKED = Fault(
    "refrigerant-lost", (),
    (FaultSize("fraction", "%", 30.0, 0.0, 100.0, "share of the cooling that is left", nothing=100.0),),
    "a leak: the compressor runs and hardly cools", "it runs for ever and the beer warms all the same",
    lurks=True, actuators=("cooler",),
)  # fmt: skip


def parameters() -> tuple[Parameter, ...]:
    """What can be set on a compressor."""
    return (
        Parameter(
            "cooling_power", "W", 120.0, 10.0, 2000.0, "assumed", "at -10 degC evaporator, 25 degC room"
        ),
        Parameter("running_power", "W", 90.0, 10.0, 2000.0, "assumed", "drawn while it turns"),
        Parameter(
            "locked_power", "W", 700.0, 10.0, 10000.0, "assumed: 5 to 8 times running", "drawn while locked"
        ),
        Parameter(
            "compressor_rest", "s", 180.0, 0.0, 1800.0, "common practice: 3 to 5 min",
            "until the pressures have evened out and it can start again",
        ),
        Parameter("overload_trip", "s", 8.0, 0.5, 120.0, "assumed", "of a locked rotor, from cold"),
        Parameter("overload_reset", "s", 120.0, 1.0, 3600.0, "assumed", "from tripped to cold"),
    )  # fmt: skip


class Compressor(Part):
    """Takes heat out of `evaporator` while it turns.

    Attributes
    ----------
    turning, locked, tripped : what it does.
    starts, locked_starts : how often it has begun to turn, and how often it could not.
    """

    saved = (
        "turning", "locked", "tripped", "starts", "locked_starts", "_on", "_stopped_ms", "_seized", "_left",
        "_warmth", "_since_ms", "_event",
    )  # fmt: skip

    def __init__(self, net: Builder, evaporator: Place, room: Place, setup: dict[str, float]) -> None:
        self._net, self._queue = net, net.queue
        self._rest_ms, self._trip_ms, self._reset_ms = (
            round(setup[name] * 1000) for name in ("compressor_rest", "overload_trip", "overload_reset")
        )
        self._running_w, self._locked_w = setup["running_power"], setup["locked_power"]
        self._slope = setup["cooling_power"] * PER_K_EVAPORATOR
        self.turning = self.locked = self.tripped = self._on = self._seized = False
        self.starts = self.locked_starts = self._event = self._since_ms = 0
        self._stopped_ms, self._left, self._warmth = _NEVER_MS, 1.0, 0.0
        net.parts.append(self)
        net.transfer(_above_zero_cooling(net, evaporator, room), self._gain, evaporator.heat, net.lost)
        net.queue.handle("compressor overload", self._overload)
        net.fault(_LOCKED, self._seize)
        net.fault(_LEAKED, self._leak)

    def _gain(self) -> float:
        if self.turning and self._left < 1.0:
            self._net.acts("refrigerant-lost")
        return self._slope * self._left if self.turning else 0.0

    @property
    def power(self) -> float:
        """Electric power drawn now [W]."""
        return self._running_w if self.turning else self._locked_w if self.locked else 0.0

    def offer(self, net: Builder) -> None:
        """Add its signals."""
        net.flag("compressor", "the compressor turns", self, "turning")
        net.flag("locked_rotor", "the motor draws current and does not turn", self, "locked")
        net.flag("overload", "its thermal overload has tripped", self, "tripped")
        net.attribute("compressor_power", "W", "what the motor draws", self, "power")
        net.attribute("compressor_starts", "count", "how often it began to turn", self, "starts")
        net.attribute("locked_starts", "count", "how often it could not", self, "locked_starts")

    def supply(self, on: bool) -> None:
        """Its mains comes or goes."""
        self._on = on
        self._update()

    def _update(self) -> None:
        """Start, lock or stop, as supply, overload and pressures have it."""
        powered = self._on and not self.tripped
        if powered and not (self.turning or self.locked):
            self._try_start()
        elif self.turning and (self._seized or not powered):
            self._stop()
            self._lock("compressor seizes" if powered else "")
        elif self.locked and not powered:
            self._warm()
            self.locked = False
            self._plan()

    def _try_start(self) -> None:
        rested_ms = self._queue.now_ms - self._stopped_ms
        if self._seized or rested_ms < self._rest_ms:
            why = "" if self._seized else f" {rested_ms / 1000:.0f} s after it stopped"
            self._lock(f"compressor locked: started{why}")
        else:
            self.turning = True
            self.starts += 1
            self._net.tell("compressor turns")

    def _stop(self) -> None:
        self.turning = False
        self._stopped_ms = self._queue.now_ms
        self._net.tell("compressor stands")

    def _lock(self, text: str) -> None:
        if text:
            if self._seized:
                self._net.acts("compressor-locked")
            self._warm()
            self.locked = True
            self.locked_starts += 1
            self._net.tell(text)
            self._plan()

    def _warm(self) -> None:
        """Bring the overload's warmth, 0 cold to 1 tripping, up to now."""
        passed = self._queue.now_ms - self._since_ms
        change = passed / self._trip_ms if self.locked else -passed / self._reset_ms
        self._warmth = min(max(self._warmth + change, 0.0), 1.0)
        self._since_ms = self._queue.now_ms

    def _plan(self) -> None:
        self._queue.cancel(self._event)
        if self.locked:
            left_ms = round((1.0 - self._warmth) * self._trip_ms)
            self._event = self._queue.after(left_ms, "compressor overload", 1.0)
        elif self.tripped:
            self._event = self._queue.after(round(self._warmth * self._reset_ms), "compressor overload", 0.0)

    def _overload(self, trips: float) -> None:
        self._warm()
        self._warmth = trips
        self.tripped, self.locked = bool(trips), False
        self._net.tell("compressor overload trips" if trips else "compressor overload closes")
        self._plan()
        self._update()

    def _seize(self, active: Sequence[ActiveFault]) -> None:
        self._seized = bool(active)
        self._update()

    def _leak(self, active: Sequence[ActiveFault]) -> None:
        self._left = min((fault.sizes["fraction"] for fault in active), default=100.0) / 100.0


def _above_zero_cooling(net: Builder, evaporator: Place, room: Place) -> Level:
    """How far the evaporator is above the temperature at which cooling ends [K]."""
    warmer = PER_K_ROOM / PER_K_EVAPORATOR
    base = net.input(
        "no cooling", 1.0 / PER_K_EVAPORATOR - RATED_EVAPORATOR + warmer * RATED_ROOM
    )
    above, below = evaporator.level, room.level
    return Level(
        lambda: [*above.terms(), (base, 1.0), *((slot, -warmer * factor) for slot, factor in below.terms())],
        lambda: f"({above.text()} + x[{base.index}] - {warmer!r}*{below.text()})",
    )
