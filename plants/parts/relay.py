"""A relay, mechanical or solid-state: a contact that follows its command, counts, wears and fails.

A mechanical contact follows within `MECHANICAL_MS` and wears with every closing; past its life it welds. A
solid-state relay changes at the next crossing of the mains through zero and does not wear. It may fail with
one of its two thyristors: then every other half-wave passes, half the power.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Choice, Fault, Parameter
from plants.parts.part import Part

MECHANICAL, SOLID_STATE = "mechanical", "solid-state"
MECHANICAL_MS = 10
"""From the command to the contact, common practice, no source."""

HALF_CYCLE_MS = 10
"""Of 50 Hz mains. The crossings are taken to lie at its multiples."""

_WELDED = (
    "relay-welded-on",
    "the contact has welded, or a solid-state relay has failed shorted: on whatever the command",
    "heat or cold that the controller cannot stop with this relay",
)  # fmt: skip
_STUCK = (
    "relay-stuck-off", "a burnt coil, a broken wire or a worn contact: off whatever the command",
    "the controller drives, nothing comes: it must not wind up, and must say so",
)  # fmt: skip
_HALF = (
    "relay-half-wave",
    "one thyristor of a solid-state relay has failed open: half the power (a mechanical one has none)",
    "half the heat at full demand: a loop that winds up, a boil or a firing that never ends",
)  # fmt: skip


def parameters() -> tuple[Parameter, ...]:
    """What can be set on the relays of a plant."""
    return (
        Parameter(
            "relay_life", "count", 100e3, 10.0, 1e8, "relay makers: 100 000 at full resistive load",
            "closings after which a mechanical contact welds",
        ),
        Parameter("relay_used", "count", 0.0, 0.0, 1e8, "assumed", "closings before this run"),
    )  # fmt: skip


def choice(name: str, first: str = MECHANICAL) -> Choice:
    """The kind of one relay; `first` is the default."""
    kinds = (first, *({MECHANICAL, SOLID_STATE} - {first}))
    return Choice(name, kinds, "assumed", "contact that wears, or thyristors that change at a zero crossing")


class Relay(Part):
    """A contact; `changed`, if set, is called whenever it has opened or closed.

    `actuator` is the plant's actuator that commands it, if that has another name.

    Attributes
    ----------
    commanded, closed : what is asked for, and what holds.
    operations : how often the contact has closed.
    """

    saved = ("commanded", "closed", "operations", "_welded", "_stuck", "_half", "_worn", "_change")

    def __init__(
        self, net: Builder, name: str, setup: dict[str, float], kind: str, actuator: str = ""
    ) -> None:
        self.name, self._net, self.solid = name, net, kind == SOLID_STATE
        self.actuator = actuator or name
        self.changed: Callable[[], None] | None = None
        self._left = round(setup["relay_life"]) - round(setup["relay_used"])
        self.commanded = self.closed = self._welded = self._stuck = self._half = self._worn = False
        self.operations = self._change = 0
        net.parts.append(self)
        net.queue.handle(f"{name} relay", self._move)

    @property
    def share(self) -> float:
        """Share of the full power that passes."""
        if not self.closed:
            return 0.0
        if self._half:
            self._net.acts("relay-half-wave", self.name)
        return 0.5 if self._half else 1.0

    def command(self, value: float) -> None:
        """Ask for closed (not 0) or open."""
        self.commanded = bool(value)
        self._plan()

    def fail(
        self, *, welded: bool | None = None, stuck: bool | None = None, half: bool | None = None
    ) -> None:
        """Begin or end a failure; welded wins over stuck."""
        self._welded = self._welded if welded is None else welded
        self._stuck = self._stuck if stuck is None else stuck
        self._half = self._half if half is None else half and self.solid
        self._plan()

    def _plan(self) -> None:
        self._net.queue.cancel(self._change)
        wanted = self._welded or self._worn or (self.commanded and not self._stuck)
        if self._welded and not self.commanded:
            self._net.acts("relay-welded-on", self.name)
        if self._stuck and self.commanded:
            self._net.acts("relay-stuck-off", self.name)
        if wanted != self.closed:
            passed = self._net.queue.now_ms % HALF_CYCLE_MS
            wait_ms = HALF_CYCLE_MS - passed if self.solid else MECHANICAL_MS
            self._change = self._net.queue.after(wait_ms, f"{self.name} relay", float(wanted))

    def _move(self, closed: float) -> None:
        self.closed = bool(closed)
        self.operations += self.closed
        self._net.tell(f"{self.name} relay {'closed' if self.closed else 'open'}")
        if self.closed and not self.solid and not self._worn and self.operations >= self._left:
            self._worn = True
            self._net.tell(f"{self.name} relay has welded: worn out")
        if self.changed is not None:
            self.changed()


def offer_relay_faults(net: Builder, relays: Sequence[Relay], motors: Sequence[Relay] = ()) -> None:
    """Add the faults of all relays of a plant, each in its place; half-waves to all but those of `motors`."""

    def offer(those: Sequence[Relay], change: str, fault: tuple[str, str, str]) -> None:
        kind, about, hazard = fault
        places, behind = tuple(relay.name for relay in those), tuple(relay.actuator for relay in those)

        def act(active: Sequence[ActiveFault]) -> None:
            for relay in relays:
                relay.fail(**{change: any(fault.place == relay.name for fault in active)})

        net.fault(Fault(kind, places, (), about, hazard, True, behind), act)

    offer(relays, "welded", _WELDED)
    offer(relays, "stuck", _STUCK)
    offer([relay for relay in relays if relay not in motors], "half", _HALF)
