"""Disturbances that the bench itself can play, whatever the plant: panel, console and line.

The plant's own kinds (`flame-lost`, `pump-stops`, ...) come with the plant.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class BenchKind:
    """A kind of disturbance outside the plant.

    Attributes
    ----------
    about : what happens.
    hazard : the danger that rehearsing it shows.
    needs : key that the disturbance must state; empty if none.
    lasting : whether it may have an end (`for`, `until`).
    """

    kind: str
    about: str
    hazard: str
    needs: str = ""
    lasting: bool = False


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
        )
    }
)
