"""A standing pilot flame and the thermoelectric valve that it holds open.

A person has lit it before the run. When it goes out its thermocouple cools, and after the drop-out time the
valve shuts all gas; until then gas passes unlit. Once it is lit again the valve holds after the hold-in time.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault, Parameter
from plants.parts.part import Part

PILOT_OUT = Fault(
    "pilot-out", (), (),
    "a draught or a dirty jet puts the pilot out; at the end a person lights it again (only with a pilot)",
    "until the thermocouple has cooled the main valve passes gas that nothing lights",
    lurks=True,
)  # fmt: skip


def parameters() -> tuple[Parameter, ...]:
    """What can be set on a pilot."""
    return (
        Parameter("pilot_power", "kW", 0.25, 0.05, 2.0, "assumed", "heat input of the pilot flame"),
        Parameter(
            "pilot_drop_out", "s", 30.0, 1.0, 180.0, "common practice: 20 to 60 s",
            "from the pilot's end to the shut thermoelectric valve",
        ),
        Parameter(
            "pilot_hold_in", "s", 20.0, 1.0, 180.0, "common practice: 10 to 30 s",
            "from a lit pilot to a valve that holds",
        ),
    )  # fmt: skip


class Pilot(Part):
    """Attributes: `lit`; `held`, whether the thermoelectric valve passes gas. `changed` hears of both."""

    saved = ("lit", "held", "_change")

    def __init__(self, net: Builder, setup: dict[str, float], changed: Callable[[], None]) -> None:
        self._net, self._changed = net, changed
        self._drop_ms, self._hold_ms = (
            round(setup[name] * 1000.0) for name in ("pilot_drop_out", "pilot_hold_in")
        )
        self.watts = setup["pilot_power"] * 1000.0
        self.lit = self.held = True
        self._change = 0
        net.parts.append(self)
        net.queue.handle("pilot valve", self._moved)

    def put_out(self, active: Sequence[ActiveFault]) -> None:
        """Out while a fault is in force, lit again after it."""
        if self.lit is not bool(active):
            return
        self.lit = not active
        self._net.acts("pilot-out")
        self._net.tell("pilot lit" if self.lit else "pilot out")
        self._net.queue.cancel(self._change)
        if self.held is not self.lit:
            wait_ms = self._hold_ms if self.lit else self._drop_ms
            self._change = self._net.queue.after(wait_ms, "pilot valve", float(self.lit))
        self._changed()

    def _moved(self, held: float) -> None:
        self.held = bool(held)
        self._net.tell("pilot valve holds" if held else "pilot valve has dropped out")
        self._changed()
