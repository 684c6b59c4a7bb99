"""What everything is played with: each device with each seed."""

from __future__ import annotations

from dataclasses import dataclass

import pytest


@dataclass(frozen=True)
class Case:
    """A device, and a seed in place of the scenario's own (None: that one)."""

    device: str
    seed: int | None = None

    @property
    def name(self) -> str:
        """As it stands behind a test's name; two colons would part names there."""
        shown = self.device.replace("::", ":")
        return shown if self.seed is None else f"{shown}, seed {self.seed}"


def cases(config: pytest.Config) -> list[Case]:
    """The cases that the command line or the ini-file asks for; none where no device is named."""
    devices = config.getoption("unlit_device", None) or config.getini("unlit_device")
    seeds = config.getoption("unlit_seed", None) or [None]
    pairs = [Case(device, seed) for device in devices for seed in seeds]
    return list(dict.fromkeys(pairs))
