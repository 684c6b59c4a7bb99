"""The wiring: stated in the scenario, or in a file of its own named `NAME.wiring.toml`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from harness.errors import FileMistakesError
from harness.scenario.findings import Findings
from harness.scenario.forms import shown
from harness.scenario.model import Wiring
from harness.scenario.names import quoted, unknown
from harness.scenario.panel import channel_mistake
from harness.scenario.source import KeyPath, parse_toml, read_text

if TYPE_CHECKING:
    from plants import Plant

SUFFIX = ".wiring.toml"
_KEYS = ("inputs", "outputs", "unwired")


def read_wiring(raw: object, plant: type[Plant] | None, findings: Findings) -> Wiring | None:
    """The wiring that the scenario states or names; None where there is none or it is wrong."""
    if raw is None:
        return None
    if isinstance(raw, Mapping):
        return _read(raw, ("wiring",), plant, findings, "")
    if not isinstance(raw, str):
        findings.at_value(("wiring",), f"wiring: {shown(raw)} is neither a file's name nor a table")
        return None
    if not raw.endswith(SUFFIX) or not raw.isprintable():
        findings.at_value(("wiring",), f"wiring: {quoted(raw)} does not end in {SUFFIX}. Name the file so")
        return None
    path = Path(findings.file).parent / raw
    try:
        data, places = parse_toml(read_text(path), str(path))
    except FileMistakesError as error:
        if error.mistakes[0].line:
            findings.take(error)
        else:
            findings.at_value(("wiring",), f"wiring: {quoted(raw)} {error.mistakes[0].what}")
        return None
    inner = Findings(str(path), places)
    wiring = _read(data, (), plant, inner, str(path))
    try:
        inner.raise_if_any()
    except FileMistakesError as error:
        findings.take(error)
    return wiring


def _read(
    raw: Mapping[str, Any], path: KeyPath, plant: type[Plant] | None, findings: Findings, file: str
) -> Wiring:
    for key in raw:
        if key not in _KEYS:
            findings.at_key((*path, key), unknown("key", key, _KEYS))
    probes = [probe.name for probe in plant.probes] if plant else None
    actuators = [actuator.name for actuator in plant.actuators] if plant else None
    inputs = _names(raw.get("inputs", {}), (*path, "inputs"), "probe", probes, findings)
    outputs = _names(raw.get("outputs", {}), (*path, "outputs"), "actuator", actuators, findings)
    unwired = _unwired(raw.get("unwired", []), (*path, "unwired"), actuators, findings)
    _check_driven_once(outputs, unwired, path, findings)
    lines = {"unwired": findings.places.key((*path, "unwired"))}
    for key, names in (("inputs", inputs), ("outputs", outputs)):
        lines |= {f"{key}.{name}": findings.places.key((*path, key, name)) for name in names}
    return Wiring(inputs, outputs, unwired, file, findings.places.key(path) if path else 0, lines)


def _names(
    raw: object, path: KeyPath, what: str, known: Iterable[str] | None, findings: Findings
) -> dict[str, str]:
    """Device channel's name to the plant's name of a probe or actuator."""
    if not isinstance(raw, Mapping):
        findings.at_value(path, f'{path[-1]}: {shown(raw)} is no table. Write {{ channel = "{what}" }}')
        return {}
    joined = {}
    for channel, name in raw.items():
        below = (*path, channel)
        wrong = channel_mistake(channel)
        if wrong:
            findings.at_key(below, wrong)
            continue
        if not isinstance(name, str):
            findings.at_value(below, f"{channel}: {shown(name)} is not the name of a {what}")
            continue
        if known is not None and name not in known:
            findings.at_value(below, unknown(what, name, known))
        joined[channel] = name
    return joined


def _unwired(
    raw: object, path: KeyPath, actuators: Iterable[str] | None, findings: Findings
) -> tuple[str, ...]:
    if not isinstance(raw, list) or not all(isinstance(name, str) for name in raw):
        findings.at_value(path, 'unwired: is not a list of names. Write for example ["igniter"]')
        return ()
    for i, name in enumerate(raw):
        if actuators is not None and name not in actuators:
            findings.at_value((*path, i), unknown("actuator", name, actuators))
    return tuple(raw)


def _check_driven_once(
    outputs: Mapping[str, str], unwired: Iterable[str], path: KeyPath, findings: Findings
) -> None:
    driver: dict[str, str] = {}
    for channel, actuator in outputs.items():
        below = (*path, "outputs", channel)
        if actuator in driver:
            findings.at_key(below, f'{quoted(actuator)} is driven by "{driver[actuator]}" already. Wire one')
        if actuator in unwired:
            findings.at_key(below, f"{quoted(actuator)} is listed as unwired. Take it out of one of the two")
        driver.setdefault(actuator, channel)
