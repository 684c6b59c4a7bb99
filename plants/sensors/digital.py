"""Digital thermometer of 9 to 12 bits on a one-wire bus: codes, conversion time, scratchpad and its check.

Codes are sixteenths of a degree in two's complement, whatever the resolution; the low bits that are not
converted are 0 here. Data sheet text: -55 to 125 degC, 750 ms at the most for 12 bits.
"""

from __future__ import annotations

LOWEST, HIGHEST = -55.0, 125.0
"""Range [degC]."""

POWER_ON = 0x0550
"""Code until the first conversion has completed: +85 degC."""

CONVERSION_MS = {9: 94, 10: 188, 11: 375, 12: 750}
"""Longest conversion by resolution [bits], to the next whole millisecond (93.75, 187.5, 375, 750)."""

_CONFIGURATION = {9: 0x1F, 10: 0x3F, 11: 0x5F, 12: 0x7F}


def code(temp: float, bits: int = 12) -> int:
    """The signed code of `temp` [degC]; back within half a step: 0.03125 K with 12 bits, 0.25 K with 9.

    >>> code(25.0625), code(-10.125), code(85.0) == POWER_ON
    (401, -162, True)
    """
    held = min(max(temp, LOWEST), HIGHEST)
    step = 1 << (12 - bits)
    return round(held * 16.0 / step) * step


def temperature(code: int) -> float:
    """Temperature [degC] of a signed code; exact."""
    return code / 16.0


def word(code: int) -> int:
    """The code as it stands in two bytes, 0 to 0xFFFF.

    >>> f"{word(-880):04X}"
    'FC90'
    """
    return code & 0xFFFF


def signed(word: int) -> int:
    """The code of two bytes."""
    return word - 0x10000 if word & 0x8000 else word


def crc8(data: bytes) -> int:
    """CRC-8/MAXIM-DOW: polynomial 0x31, bits reversed, from 0.

    >>> hex(crc8(b"123456789"))
    '0xa1'
    """
    check = 0
    for byte in data:
        check ^= byte
        for _ in range(8):
            check = (check >> 1) ^ 0x8C if check & 1 else check >> 1
    return check


def scratchpad(code: int, bits: int = 12, *, powered_on: bool = False) -> bytes:
    """The nine bytes a reader gets: code, alarm bytes, configuration, three reserved, check.

    Byte 6 is 0x0C at power-on, by which a false 85 degC can be told from a true one; after a conversion it is
    0x10 less the low four bits of the code. Alarm bytes as delivered (0x4B, 0x46).

    >>> scratchpad(POWER_ON, powered_on=True).hex(" ")
    '50 05 4b 46 7f ff 0c 10 1c'
    """
    reserved = 0x0C if powered_on else 0x10 - (code & 0x0F)
    low, high = word(code) & 0xFF, word(code) >> 8
    body = bytes((low, high, 0x4B, 0x46, _CONFIGURATION[bits], 0xFF, reserved, 0x10))
    return body + bytes((crc8(body),))
