"""A link whose waits are measured: a bench that was held up while it listened is late, and not the device.

A byte that has come lies in the system's buffer and bears no time. A bench that is stopped meanwhile finds
it late and would lay that to the device, or date a `now` after the fact. So it waits in short pieces, and one
that takes longer than it may shows by how much the bench was held up, at least.
"""

from __future__ import annotations

from harness.bench.clock import Clock
from harness.links import Link

# Longer than the links' own pieces (an emulated AVR is helped on after 10 ms), shorter than a late_limit.
PIECE_NS = 20_000_000
NS_PER_MS = 1_000_000


class AttentiveLink(Link):
    """`inner` with its waits measured by `clock`."""

    def __init__(self, inner: Link, clock: Clock) -> None:
        super().__init__(inner.text)
        self.inner, self._clock = inner, clock
        self.baud, self.forgets = inner.baud, inner.forgets
        self._own_ns = round(inner.gathers_s * 1e9)
        self._held_up_ns = 0

    def held_up_ms(self) -> float:
        """The longest the bench was held up in a wait since this was last asked, at least."""
        held_up_ns, self._held_up_ns = self._held_up_ns, 0
        return held_up_ns / NS_PER_MS

    def write(self, data: bytes) -> None:
        """As `Link.write`."""
        self.inner.write(data)

    def read(self, timeout_s: float) -> bytes:
        """As `Link.read`."""
        begun_ns = self._clock.now_ns()
        deadline_ns = begun_ns + round(timeout_s * 1e9)
        while True:
            piece_ns = max(0, min(PIECE_NS, deadline_ns - begun_ns))
            data = self.inner.read(piece_ns / 1e9)
            now_ns = self._clock.now_ns()
            self._held_up_ns = max(self._held_up_ns, now_ns - begun_ns - piece_ns - self._own_ns)
            if data or now_ns >= deadline_ns:
                return data
            begun_ns = now_ns

    def restart(self) -> None:
        """As `Link.restart`."""
        self.inner.restart()

    def close(self) -> None:
        """As `Link.close`."""
        self.inner.close()
