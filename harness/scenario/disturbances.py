"""The `[[disturbance]]` tables, checked against the plant's kinds and the bench's own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from harness.assertions import ExpressionError, compile_expression
from harness.quantity import QuantityError
from harness.scenario.findings import Findings
from harness.scenario.forms import shown
from harness.scenario.kinds import BENCH_KINDS, BenchKind, BenchSize
from harness.scenario.model import Disturbance, PanelValue
from harness.scenario.names import listed, nearest, quoted, unknown
from harness.scenario.panel import read_panel
from harness.scenario.source import KeyPath
from harness.scenario.tables import DisturbanceTable, read_table, unknown_key
from harness.scenario.values import read_in_unit

if TYPE_CHECKING:
    from plants import Fault, FaultSize, Plant

    AnySize = BenchSize | FaultSize

Raw = Mapping[str, Any]

DEVICE_PREFIXES = ("in.", "out.", "tell.")
"""Signals that begin so are the device's: which there are is not known before it has been asked."""

_KEYS = list(DisturbanceTable.keys)


class DisturbanceReader:
    """Reads the disturbances of one file; mistakes go to `findings`.

    `plant` is None where the file names no known one: what depends on the plant is then not checked.
    `length_ms` is None where the file states no right length.
    """

    def __init__(self, plant: type[Plant] | None, length_ms: int | None, findings: Findings) -> None:
        self._faults = {fault.kind: fault for fault in plant.faults} if plant else {}
        self._plant = plant
        self._length_ms = length_ms
        self._findings = findings

    def read(self, raw: Raw, path: KeyPath) -> Disturbance | None:
        """One table as a disturbance; None after its mistakes have been noted."""
        table = read_table(DisturbanceTable, raw, path, self._findings)
        self._check_start(raw, path)
        if table is not None and table.when is not None:
            self._check_condition(table.when, path)
        sizes, panel = self._read_kind(raw, path)
        if table is None:
            return None
        self._check_times(table, path)
        for_ms, end_ms = table.for_, table.until
        return Disturbance(
            kind=table.kind,
            place=table.place,
            at_ms=table.at,
            when=table.when,
            for_ms=for_ms,
            end_ms=end_ms,
            sizes=sizes,
            panel=panel,
            text=table.text,
            repeat_every_ms=table.repeat_every or 0,
            times=self._times(table),
            ramp_ms=table.ramp or 0,
            fade_ms=table.fade or 0,
            line=self._findings.places.key(path),
        )

    def _times(self, table: DisturbanceTable) -> int:
        """How often it starts: `times`, else as often as `repeat_every` fits into the run."""
        if table.repeat_every is None or table.at is None or self._length_ms is None:
            return 1
        return table.times or max(0, self._length_ms - 1 - table.at) // table.repeat_every + 1

    def _read_kind(self, raw: Raw, path: KeyPath) -> tuple[dict[str, float], dict[str, PanelValue]]:
        """Sizes and panel settings, as far as the kind takes them."""
        kind = raw.get("kind")
        if isinstance(kind, str) and kind in BENCH_KINDS:
            sizes = self._read_bench_sizes(BENCH_KINDS[kind], raw, path)
            return sizes, self._read_bench_kind(BENCH_KINDS[kind], raw, path)
        if not isinstance(kind, str) or self._plant is None:
            return {}, {}
        if kind not in self._faults:
            self._findings.at_value((*path, "kind"), self._unknown_kind(kind))
            return {}, {}
        self._check_place(self._faults[kind], raw, path)
        return self._read_sizes(self._faults[kind], raw, path), {}

    def _unknown_kind(self, kind: str) -> str:
        known = [*self._faults, *BENCH_KINDS]
        name, others = self._plant.name if self._plant else "", _plants_with(kind)
        every = f"For {name} there are: {', '.join(sorted(known))}"
        if others:
            return f"{quoted(kind)} happens on {' and '.join(others)}, not on {name}. {every}"
        near = nearest(kind, known)
        guess = f', did you mean "{near}"?' if near else "."
        return f"unknown kind {quoted(kind)}{guess} {every}"

    def _read_bench_kind(self, kind: BenchKind, raw: Raw, path: KeyPath) -> dict[str, PanelValue]:
        known = ["kind", "at", "when", "repeat_every", "times"]
        known += [kind.needs] if kind.needs else []
        known += ["for", "until"] if kind.lasting else []
        known += ["place"] if kind.places else []
        known += [size.name for size in kind.sizes]
        for key in raw:
            if key not in known:
                self._findings.at_key((*path, key), self._not_of(kind.kind, key, known, path))
        if kind.needs and kind.needs not in raw:
            example = "panel = { reset = true }" if kind.needs == "panel" else 'text = "status"'
            self._findings.at_key(path, f'kind "{kind.kind}" needs {kind.needs}, such as {example}')
        place = raw.get("place")
        if kind.places and isinstance(place, str) and place not in kind.places:
            self._findings.at_value((*path, "place"), unknown("place", place, kind.places))
        if kind.needs != "panel" or "panel" not in raw:
            return {}
        panel = read_panel(raw["panel"], (*path, "panel"), self._findings)
        if not raw["panel"]:
            what = "panel: sets nothing. Write for example panel = { reset = true }"
            self._findings.at_value((*path, "panel"), what)
        return panel

    def _read_bench_sizes(self, kind: BenchKind, raw: Raw, path: KeyPath) -> dict[str, float]:
        stated = [size for size in kind.sizes if size.name in raw]
        for size in stated[1:]:
            what = f'states both "{stated[0].name}" and "{size.name}". Leave one of them out'
            self._findings.at_key((*path, size.name), what)
        if not stated:
            return {size.name: size.default for size in kind.sizes[:1]}
        sizes = self._sizes_in(stated[:1], raw, path)
        for name, value in sizes.items():
            if value != int(value):
                self._findings.at_value((*path, name), f"{name}: {value:g} is not a whole number")
        return sizes

    def _sizes_in(self, known: Iterable[AnySize], raw: Raw, path: KeyPath) -> dict[str, float]:
        """The sizes that the table states."""
        sizes = {}
        for size in known:
            if size.name in raw:
                try:
                    sizes[size.name] = read_in_unit(raw[size.name], size.unit, size.low, size.high)
                except QuantityError as error:
                    self._findings.at_value((*path, size.name), f"{size.name}: {error}")
        return sizes

    def _no_ramp(self, kind: str, key: str) -> str:
        growing = listed(sorted(fault.kind for fault in self._faults.values() if fault.ramps))
        why = f'"{kind}" has no size that grows from nothing'
        return f'"{key}" does not fit: {why}; of kinds that have one {growing}'

    def _not_of(self, kind: str, key: str, known: list[str], path: KeyPath) -> str:
        if key in ("for", "until"):
            return f'"{key}" does not fit: "{kind}" happens at one moment. Leave it out'
        if key in _KEYS:
            return f'"{key}" does not fit kind "{kind}". Leave it out'
        return unknown_key(key, known, path)

    def _check_place(self, fault: Fault, raw: Raw, path: KeyPath) -> None:
        place = raw.get("place")
        if fault.places and place is None:
            self._findings.at_key(path, f'"{fault.kind}" needs a place; {listed(fault.places)}')
        elif not fault.places and place is not None:
            self._findings.at_key((*path, "place"), f'"{fault.kind}" takes no place. Leave it out')
        elif isinstance(place, str) and place not in fault.places:
            self._findings.at_value((*path, "place"), unknown("place", place, fault.places))

    def _read_sizes(self, fault: Fault, raw: Raw, path: KeyPath) -> dict[str, float]:
        known = {size.name: size for size in fault.sizes}
        sizes = {size.name: size.default for size in fault.sizes}
        fits = [name for name in _KEYS if name not in ("panel", "text")]
        for key in ("ramp", "fade") if not fault.ramps else ():
            fits.remove(key)
            if key in raw:
                self._findings.at_key((*path, key), self._no_ramp(fault.kind, key))
        for key in raw:
            if key in ("ramp", "fade"):
                continue
            if key not in known and key not in fits:
                offered = [name for name in fits if fault.places or name != "place"]
                self._findings.at_key((*path, key), self._not_of(fault.kind, key, [*offered, *known], path))
        return sizes | self._sizes_in(fault.sizes, raw, path)

    def _check_start(self, raw: Raw, path: KeyPath) -> None:
        if "at" in raw and "when" in raw:
            self._findings.at_key((*path, "when"), 'states both "at" and "when". Leave one of them out')
        elif "at" not in raw and "when" not in raw:
            example = 'such as at = "8 min" or when = "flame and liquor > 50 degC"'
            self._findings.at_key(path, f'missing key "at" or "when", {example}')
        if "for" in raw and "until" in raw:
            self._findings.at_key((*path, "until"), 'states both "for" and "until". Leave one of them out')

    def _check_condition(self, text: str, path: KeyPath) -> None:
        if self._plant is None:
            return
        units = {signal.name: signal.unit for signal in self._plant.signals}
        try:
            compile_expression(text, units, DEVICE_PREFIXES)
        except ExpressionError as error:
            self._findings.at_value((*path, "when"), f"when: {error}")

    def _check_times(self, table: DisturbanceTable, path: KeyPath) -> None:
        for key, what in self._wrong_times(table):
            self._findings.at_value((*path, key), what)

    def _wrong_times(self, table: DisturbanceTable) -> Iterator[tuple[str, str]]:
        length_ms, every = self._length_ms, table.repeat_every
        if length_ms is not None:
            if table.at is not None and table.at >= length_ms:
                yield "at", f"at: never comes, the run is only {spell(length_ms)} long. Start earlier"
            if table.until is not None and table.until > length_ms:
                yield "until", f"until: is after the end of the run ({spell(length_ms)}). Leave it out"
        if table.at is not None and table.until is not None and table.until <= table.at:
            yield "until", f"until: is not after the start ({spell(table.at)}). End later"
        if table.fade is not None and table.for_ is None and table.until is None:
            yield "fade", 'fade: needs "for" or "until"; without an end there is nothing to fade'
        if every is None and table.times is not None:
            yield "times", 'times: needs "repeat_every" too, such as repeat_every = "2 min"'
        if every is not None:
            if table.at is None:
                yield "repeat_every", 'repeat_every: needs "at"; a condition starts a disturbance once'
            yield from self._wrong_repeat(table, every)

    def _wrong_repeat(self, table: DisturbanceTable, every: int) -> Iterator[tuple[str, str]]:
        kind = BENCH_KINDS.get(table.kind)
        if table.until is not None:
            yield "repeat_every", 'repeat_every: goes with "for", not with "until"'
        elif (kind is None or (kind.lasting and not kind.instant)) and table.for_ is None:
            yield "repeat_every", 'repeat_every: needs "for", or the second start finds the first still there'
        lasts = (table.for_ or 0) + (table.fade or 0)
        if lasts > every:
            yield "repeat_every", f"repeat_every: is shorter than one time lasts ({spell(lasts)})"
        if self._times(table) > 10_000:
            yield "repeat_every", "repeat_every: gives more than 10000 starts. Make it longer, or state times"


def _plants_with(kind: str) -> list[str]:
    """The ready plants on which a kind can happen."""
    from plants import ready_plants

    return [
        name for name, plant in ready_plants().items() if any(fault.kind == kind for fault in plant.faults)
    ]


def spell(ms: int) -> str:
    """A time for a message, in the largest unit that keeps it whole: `8 min`, `250 ms`."""
    for size, unit in ((3_600_000, "h"), (60_000, "min"), (1000, "s")):
        if ms and ms % size == 0:
            return f"{ms // size} {unit}"
    return f"{ms} ms"


def read_disturbances(raw: object, reader: DisturbanceReader, findings: Findings) -> tuple[Disturbance, ...]:
    """The list of `[[disturbance]]` tables, those that are right."""
    read = [reader.read(one, ("disturbance", i)) for i, one in tables_of(raw, "disturbance", findings)]
    return tuple(one for one in read if one is not None)


def tables_of(raw: object, name: str, findings: Findings) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """The tables of a `[[name]]` list with their positions; what is none is noted."""
    if raw is None:
        return
    if not isinstance(raw, list):
        findings.at_key((name,), f"[{name}] is one table, a list of them is wanted. Write [[{name}]]")
        return
    for i, one in enumerate(raw):
        if isinstance(one, Mapping):
            yield i, one
        else:
            findings.at_value((name, i), f"{name}: {shown(one)} is no table. Write [[{name}]] above its keys")
