"""A relay: a contact that follows its command after a short time, counts, and fails in two ways."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault
from plants.parts.part import Part

MECHANICAL_MS = 10
"""From the command to the contact, common practice, no source."""

SOLID_STATE_MS = 10
"""Half a cycle of 50 Hz mains: a zero-crossing relay changes at the next crossing at the latest."""

_WELDED = Fault(
    "relay-welded-on", (), (),
    "the contact has welded, or a solid-state relay has failed shorted: on whatever the command",
    "heat or cold that the controller cannot stop with this relay",
)  # fmt: skip
_STUCK = Fault(
    "relay-stuck-off", (), (),
    "a burnt coil, a broken wire or a worn contact: off whatever the command",
    "the controller drives, nothing comes: it must not wind up, and must say so",
)  # fmt: skip


class Relay(Part):
    """A contact; `changed` is called whenever it has opened or closed.

    `actuator` is the plant's actuator that commands it, if that has another name.

    Attributes
    ----------
    commanded, closed : what is asked for, and what holds.
    operations : how often the contact has closed.
    """

    saved = ("commanded", "closed", "operations", "_welded", "_stuck", "_change")

    def __init__(
        self, net: Builder, name: str, changed: Callable[[], None] | None = None,
        delay_ms: int = MECHANICAL_MS, actuator: str = "",
    ) -> None:  # fmt: skip
        self.name, self._net, self._changed, self._delay_ms = name, net, changed, delay_ms
        self.actuator = actuator or name
        self.commanded = self.closed = self._welded = self._stuck = False
        self.operations = self._change = 0
        net.parts.append(self)
        net.queue.handle(f"{name} relay", self._move)

    def command(self, value: float) -> None:
        """Ask for closed (not 0) or open."""
        self.commanded = bool(value)
        self._plan()

    def fail(self, *, welded: bool | None = None, stuck: bool | None = None) -> None:
        """Begin or end a failure; welded wins over stuck."""
        self._welded = self._welded if welded is None else welded
        self._stuck = self._stuck if stuck is None else stuck
        self._plan()

    def _plan(self) -> None:
        self._net.queue.cancel(self._change)
        wanted = self._welded or (self.commanded and not self._stuck)
        if self._welded and not self.commanded:
            self._net.acts("relay-welded-on", self.name)
        if self._stuck and self.commanded:
            self._net.acts("relay-stuck-off", self.name)
        if wanted != self.closed:
            self._change = self._net.queue.after(self._delay_ms, f"{self.name} relay", float(wanted))

    def _move(self, closed: float) -> None:
        self.closed = bool(closed)
        self.operations += self.closed
        self._net.tell(f"{self.name} relay {'closed' if self.closed else 'open'}")
        if self._changed is not None:
            self._changed()


def offer_relay_faults(net: Builder, relays: Sequence[Relay]) -> None:
    """Add the faults of all relays of a plant, each in its place."""
    places = tuple(relay.name for relay in relays)
    behind = tuple(relay.actuator for relay in relays)

    def weld(active: Sequence[ActiveFault]) -> None:
        for relay in relays:
            relay.fail(welded=any(fault.place == relay.name for fault in active))

    def stick(active: Sequence[ActiveFault]) -> None:
        for relay in relays:
            relay.fail(stuck=any(fault.place == relay.name for fault in active))

    for fault, change in ((_WELDED, weld), (_STUCK, stick)):
        net.fault(Fault(fault.kind, places, (), fault.about, fault.hazard, True, behind), change)
