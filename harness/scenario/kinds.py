"""Disturbances that the bench itself can play, whatever the plant: panel, console, line and device.

The plant's own kinds (`flame-lost`, `pump-stops`, ...) come with the plant.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

WAYS = ("to-device", "to-bench")


@dataclass(frozen=True)
class BenchSize:
    """A figure that a disturbance may state, as `plants.FaultSize` is for the plant's kinds."""

    name: str
    unit: str
    default: float
    low: float
    high: float
    about: str


@dataclass(frozen=True)
class BenchKind:
    """A kind of disturbance outside the plant.

    Attributes
    ----------
    about : what happens.
    hazard : the danger that rehearsing it shows.
    needs : key that the disturbance must state; empty if none.
    lasting : whether it may have an end (`for`, `until`).
    instant : a lasting one that happens at one moment when no end is stated.
    places : where it may happen; everywhere if the disturbance states none.
    sizes : figures that may be stated, at most one of them.
    """

    kind: str
    about: str
    hazard: str
    needs: str = ""
    lasting: bool = False
    instant: bool = False
    places: tuple[str, ...] = ()
    sizes: tuple[BenchSize, ...] = ()


_MOST = 100_000.0


def _every(of: str = "lines", default: float = 20) -> BenchSize:
    name = "every" if of == "lines" else "every_bytes"
    return BenchSize(name, "count", default, 1, _MOST, f"one in so many {of}, each way counted by itself")


BENCH_KINDS: Mapping[str, BenchKind] = MappingProxyType(
    {
        kind.kind: kind
        for kind in (
            BenchKind(
                "set-panel",
                "A person sets something on the device's panel; at its end what was set before comes back.",
                "Heat goes on, or stays on, against what a person has just asked for.",
                needs="panel",
                lasting=True,
            ),
            BenchKind(
                "type",
                "A person types a line on the device's own console.",
                "A command given in passing changes how the burner is guarded.",
                needs="text",
            ),
            BenchKind(
                "line-silence",
                "The device hears nothing: no stimulus reaches it.",
                "The controller fires on readings that are no longer true.",
                lasting=True,
            ),
            BenchKind(
                "line-corrupted",
                "One line in so many has a damaged byte, or one byte in so many is damaged: a loose ground, "
                "a long cable beside the igniter's lead, a baud rate at its edge.",
                "A damaged reading or command is taken for a true one.",
                lasting=True,
                places=WAYS,
                sizes=(_every(), _every("bytes", 2000)),
            ),
            BenchKind(
                "line-lost",
                "One line in so many never arrives: a full receive buffer, a blocked interrupt.",
                "A controller that counts on each line loses its timing, or takes a gap for silence.",
                lasting=True,
                places=WAYS,
                sizes=(_every(),),
            ),
            BenchKind(
                "line-repeated",
                "One line in so many arrives twice, as a bridge or a driver with retries sends it.",
                "Something is done twice: a step of time, a press of a button.",
                lasting=True,
                places=WAYS,
                sizes=(_every(),),
            ),
            BenchKind(
                "late-answers",
                "One answer in so many comes after the bench has given it up and asked again.",
                "An old answer is taken for the present state of the outputs.",
                lasting=True,
                sizes=(_every(),),
            ),
            BenchKind(
                "power-cut",
                "The device loses its power: all outputs off, nothing kept but its non-volatile memory; "
                "at the end it starts again, with the panel's switches as they then stand.",
                "The burner lights by itself when the power comes back, or a lockout is forgotten.",
                lasting=True,
                instant=True,
            ),
        )
    }
)
