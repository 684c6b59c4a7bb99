"""What each key means, as scenarios/README.md says it: an editor shows it beside the key."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

Words = Mapping[str, Mapping[str, str]]

#: Part of the page -> its heading there.
SECTIONS = {
    "head": "The head",
    "disturbance": "`[[disturbance]]`",
    "assertion": "`[[assertion]]`",
    "require": "`[[require]]`",
}
#: What has no row in a table of the page.
OTHERS: Words = {
    "wiring": {
        "inputs": "device input = plant probe",
        "outputs": "device output = plant actuator",
        "unwired": "actuators that nothing drives, on purpose",
    },
    "disturbance": {"panel": "what a person sets: kind set-panel", "text": "the line typed: kind type"},
    "set": {"part": "a word by which a scenario picks it"},
}
ROW = re.compile(r"^\| (`[a-z_]+`(?:, `[a-z_]+`)*) \| (.+?) \|(?: .* \|)?$", re.MULTILINE)


def words_of(page: Path) -> Words:
    """Part -> key -> what the page says of it, without mark-up."""
    text = page.read_text(encoding="utf-8")
    found: dict[str, Mapping[str, str]] = dict(OTHERS)
    for part, heading in SECTIONS.items():
        section = text.split(f"\n## {heading}\n")[1].split("\n## ")[0]
        rows = {
            key.strip("` "): _plain(said) for keys, said in ROW.findall(section) for key in keys.split(",")
        }
        found[part] = {**found.get(part, {}), **rows}
    tables = {"plant_setup": "The plant's parameters", "panel": "What a person has set on the controller"}
    tables |= {"disturbance": "What happens on the way", "assertion": "What must hold"}
    found["head"] = {**tables, "require": "Requirement sets to include", **found["head"]}
    return found


def _plain(said: str) -> str:
    return re.sub(r"[`*]", "", said).replace(r"\|", "|")
