"""What passes over the line, as frozen records.

`PROTOCOL.md` says what each one means. Times are unsigned 32-bit milliseconds; a value is a signed 32-bit
integer other than -2^31 in its channel's unit, None for `x` (no reading); a list of values is a tuple of
(channel number, value), rising in number.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from typing import TypeAlias

Value: TypeAlias = int | None
Values: TypeAlias = tuple[tuple[int, Value], ...]


class Side(Enum):
    """Who says a line."""

    BENCH = "bench"
    DEVICE = "device"


@dataclass(frozen=True)
class Channel:
    """An input or an output of a device; the two are numbered apart."""

    number: int
    name: str
    unit: str


@dataclass(frozen=True)
class Identity:
    """Who a device is: its name, its own version and its channels, each list rising in number."""

    name: str
    version: str
    inputs: tuple[Channel, ...]
    outputs: tuple[Channel, ...]


@dataclass(frozen=True)
class Hi:
    version: int


@dataclass(frozen=True)
class Go:
    t_ms: int


@dataclass(frozen=True)
class Back:
    t_ms: int


@dataclass(frozen=True)
class Put:
    values: Values


@dataclass(frozen=True)
class At:
    t_ms: int
    values: Values


@dataclass(frozen=True)
class Tick:
    t_ms: int


@dataclass(frozen=True)
class Type:
    text: str


@dataclass(frozen=True)
class End:
    pass


@dataclass(frozen=True)
class Me:
    """`protocol` is the protocol version the device speaks, `version` that of its firmware."""

    protocol: int
    name: str
    version: str


@dataclass(frozen=True)
class In:
    channel: Channel


@dataclass(frozen=True)
class Out:
    channel: Channel


@dataclass(frozen=True)
class Ready:
    pass


@dataclass(frozen=True)
class Ok:
    t_ms: int
    values: Values


@dataclass(frozen=True)
class Got:
    count: int


@dataclass(frozen=True)
class Now:
    values: Values


@dataclass(frozen=True)
class Tell:
    name: str
    value: Value


@dataclass(frozen=True)
class Say:
    text: str


@dataclass(frozen=True)
class No:
    reason: str


BenchMessage: TypeAlias = Hi | Go | Back | Put | At | Tick | Type | End
DeviceMessage: TypeAlias = Me | In | Out | Ready | Ok | Got | Now | Tell | Say | No
Message: TypeAlias = BenchMessage | DeviceMessage


@dataclass(frozen=True)
class LineError:
    """A line that is no message.

    `reason` is `crc`, `long` or `form`; `excerpt` holds the first bytes of the line as they came, without CR.
    Two line errors are equal when their reasons are.
    """

    reason: str
    excerpt: bytes = field(default=b"", compare=False)


Event: TypeAlias = Message | LineError
