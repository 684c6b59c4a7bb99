"""The device's panel, and names of a device's channels."""

from __future__ import annotations

import re
from collections.abc import Mapping

from harness.quantity import QuantityError
from harness.scenario.findings import Findings
from harness.scenario.forms import shown
from harness.scenario.model import PanelValue
from harness.scenario.names import quoted
from harness.scenario.source import KeyPath
from harness.scenario.values import read_panel_value

_CHANNEL = re.compile(r"[a-z][a-z0-9_]{0,23}")  # as the line protocol has it


def channel_mistake(name: str) -> str | None:
    """What is wrong with a device channel's name, if anything."""
    if _CHANNEL.fullmatch(name):
        return None
    rule = "lower-case letters, digits and _, 1 to 24 of them, a letter first"
    return f"{quoted(name)} cannot be a channel of a device. Names are {rule}"


def read_panel(raw: object, path: KeyPath, findings: Findings) -> dict[str, PanelValue]:
    """Settings by the device input's name; what is wrong is noted."""
    if not isinstance(raw, Mapping):
        findings.at_value(path, f"panel: {shown(raw)} is no table. Write such as panel = {{ run = true }}")
        return {}
    settings = {}
    for name, value in raw.items():
        below = (*path, name)
        wrong = channel_mistake(name)
        if wrong:
            findings.at_key(below, wrong)
            continue
        try:
            settings[name] = read_panel_value(value, findings.places.value(below))
        except QuantityError as error:
            findings.at_value(below, f"{name}: {error}")
    return settings
