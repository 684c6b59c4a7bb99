"""Noise of readings as a pure function of seed, probe and time.

A 64-bit mix of time and seed picks, 12 bits a probe, from 4096 equally likely values of the standard normal
distribution. The mix is the finaliser of SplitMix64 (Steele, Lea, Flood 2014), shortened by one round.
"""

from __future__ import annotations

from collections.abc import Iterable
from statistics import NormalDist
from zlib import crc32

_SIZE = 4096
_PER_WORD = 5
_MASK = 0xFFFFFFFFFFFFFFFF

NORMAL = [NormalDist().inv_cdf((number + 0.5) / _SIZE) for number in range(_SIZE)]


def _mixed(number: int) -> int:
    number = (number ^ (number >> 30)) * 0xBF58476D1CE4E5B9 & _MASK
    return (number ^ (number >> 27)) * 0x94D049BB133111EB & _MASK


def draw(seed: int, stream: str, number: int) -> float:
    """A value from 0 to below 1 that belongs to a seed, a stream (by name) and a number such as a time."""
    salt = _mixed((seed * 0x9E3779B97F4A7C15 + crc32(stream.encode()) + 1) & _MASK)
    return (_mixed((number * 0x9E3779B97F4A7C15 + salt) & _MASK) >> 11) / 2.0**53


def noise_text(table: str, probe: int) -> str:
    """Expression for the standard normal value of one probe; `table` is the name NORMAL is bound to."""
    return f"{table}[h{probe // _PER_WORD} >> {12 * (probe % _PER_WORD)} & 4095]"


def noise_lines(time: str, seed: int, probes: Iterable[int]) -> list[str]:
    """Lines that compute the words h0, h1, ... needed for `probes` from the expression `time` [ms]."""
    lines = []
    for word in sorted({probe // _PER_WORD for probe in probes}):
        salt = _mixed((seed * 0x9E3779B97F4A7C15 + word + 1) & _MASK)
        lines += [
            f"h = {time}*{0x9E3779B97F4A7C15} + {salt} & {_MASK}",
            f"h = (h ^ h >> 29)*{0xBF58476D1CE4E5B9} & {_MASK}",
            f"h{word} = h ^ h >> 32",
        ]
    return lines
