"""What an exchange costs on a serial line: its bytes, ten bits each, against the baud rate.

An asynchronous character of 8 data bits has a start and a stop bit besides: 10 bits (the usual "8N1").
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from harness.bench.channels import INT32_MAX, channel_unit
from harness.line import Channel, Identity
from harness.line.codec import LINE_BYTES

BITS_A_BYTE = 10
USUAL_BAUD = (9600, 19_200, 38_400, 57_600, 115_200, 230_400, 460_800, 921_600)
# What a value without bounds of its own is given: up to 9 999 999, or a sign and six digits.
_DIGITS = 7
_CHECK_BYTES = 6  # `*HHHH` and LF
_TIMED_BYTES = len("at 4294967295")
_PUT_BYTES = len("put") + _CHECK_BYTES
_GOT_BYTES = len("got 32") + _CHECK_BYTES


@dataclass(frozen=True)
class Budget:
    """The longest exchange on a line of `baud`: bytes to the device and back."""

    baud: int
    to_device: int
    to_bench: int

    @property
    def exchange_ms(self) -> float:
        """Both ways one after the other, since the answer follows the line. [ms]"""
        return self.bytes * BITS_A_BYTE * 1000 / self.baud

    @property
    def bytes(self) -> int:
        """Both ways together."""
        return self.to_device + self.to_bench

    def baud_for(self, exchange_ms: int) -> int:
        """The lowest usual rate at which an exchange fits into `exchange_ms`, else the rate it takes."""
        needed = -(-self.bytes * BITS_A_BYTE * 1000 // exchange_ms)
        return next((rate for rate in USUAL_BAUD if rate >= needed), needed)


def budget(baud: int, identity: Identity, inputs: Sequence[Channel]) -> Budget:
    """What one exchange may cost; `inputs` are those that each `at` carries."""
    words = sum(map(_word_bytes, inputs))
    to_device = _TIMED_BYTES + words + _CHECK_BYTES
    # What does not fit one line goes ahead of it by `put`, and each `put` has its `got`.
    puts = (to_device - 2) // LINE_BYTES
    to_device += puts * _PUT_BYTES
    to_bench = _TIMED_BYTES + sum(map(_word_bytes, identity.outputs)) + _CHECK_BYTES + puts * _GOT_BYTES
    return Budget(baud, to_device, to_bench)


def _word_bytes(channel: Channel) -> int:
    """` I=V` at its longest."""
    high = channel_unit(channel.unit).high
    digits = _DIGITS if high == INT32_MAX else len(str(high))
    return len(f" {channel.number}=") + digits
