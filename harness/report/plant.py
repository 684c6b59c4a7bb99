"""The ready plants, and everything one of them offers a scenario."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from harness.report.figures import number
from harness.report.plain import plain
from plants import spelled

if TYPE_CHECKING:
    from harness.scenario.kinds import BenchKind, BenchSize
    from plants import Choice, Fault, FaultSize, Parameter, Plant


def plant_list(plants: Mapping[str, type[Plant]]) -> Iterator[RenderableType]:
    """A line a plant."""
    yield _table(("plant", "about"), ((name, plant.about) for name, plant in plants.items()))
    yield Text("`unlit plants NAME` shows what a plant offers.", "dim")


def plant_sheet(plant: type[Plant]) -> Iterator[RenderableType]:
    """All of one plant: what can be set, recorded, read, driven and disturbed."""
    # Here and not above: the list of plants need not load what reads scenarios.
    from harness.scenario.kinds import BENCH_KINDS

    yield Text(plain(plant.name), "bold")
    yield Text(plain(plant.about))
    for line in plant.diagram.strip("\n").split("\n"):
        yield Text(plain(line), no_wrap=True)
    yield _section("parameters, in [plant_setup]")
    heads = ("name", "default", "range", "about (source)")
    yield _table(heads, (_parameter(parameter) for parameter in plant.parameters))
    if plant.choices:
        yield _section("choices, in [plant_setup]")
        heads = ("name", "default", "or", "about (source)")
        yield _table(heads, (_choice(choice) for choice in plant.choices))
    yield _section("signals, for assertions")
    yield _table(("name", "unit", "about"), ((s.name, s.unit, s.about) for s in plant.signals))
    yield _section("probes, for device inputs")
    yield _table(("name", "units", "about"), ((p.name, spelled(p.units), p.about) for p in plant.probes))
    yield _section("actuators, for device outputs")
    yield _table(("name", "unit", "about"), ((a.name, a.unit, a.about) for a in plant.actuators))
    yield _section("disturbances, by kind")
    yield _table(("kind", "place", "about"), map(_kind, plant.faults))
    yield _section("disturbances of the panel, the line and the device, with every plant")
    yield _table(("kind", "place", "about"), map(_kind, BENCH_KINDS.values()))


def _parameter(item: Parameter) -> tuple[str, str, str, str]:
    default = number(item.default) if item.unit == "1" else f"{number(item.default)} {item.unit}"
    return item.name, default, _range(item), f"{item.about} ({item.source})"


def _choice(item: Choice) -> tuple[str, str, str, str]:
    return item.name, item.default, ", ".join(item.options[1:]) or "-", f"{item.about} ({item.source})"


def _kind(fault: Fault | BenchKind) -> tuple[str, str, str]:
    lines = [f"{s.name}: {number(s.default)} {s.unit}, {_range(s)}; {s.about}{_ramp(s)}" for s in fault.sizes]
    about = "\n".join((fault.about, *lines, f"hazard: {fault.hazard}"))
    return fault.kind, ", ".join(fault.places) or "-", about


def _ramp(size: FaultSize | BenchSize) -> str:
    nothing = getattr(size, "nothing", None)
    return "" if nothing is None else f" (ramps from {number(nothing)})"


def _range(item: Parameter | FaultSize | BenchSize) -> str:
    return f"{number(item.low)} to {number(item.high)}"


def _section(title: str) -> Text:
    return Text(f"\n{title}", "bold")


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="dim")
    for head in heads[:-1]:
        table.add_column(head, overflow="fold")
    table.add_column(heads[-1], overflow="fold", ratio=1)
    for row in rows:
        table.add_row(*(Text("\n".join(map(plain, cell.split("\n")))) for cell in row))
    return table
