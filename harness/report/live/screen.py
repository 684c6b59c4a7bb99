"""The screen of a run that goes on: a sheet of lines, as many as the terminal is high.

From the top: what is played and how far it is; temperatures with what is demanded of them and their last five
minutes; what is switched; what a person has set; what happens next; how the assertions stand; what happened
last; the keys. What does not fit is left out from the bottom of a part, never from the top.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from rich.text import Text

from harness.report.figures import clock, margin, number
from harness.report.live.known import Known, Standing
from harness.report.plain import plain
from harness.report.spark import spark

STYLES = {"broken": "bold red", "holds": "green", "waits": "dim"}
SIGNS = {"broken": "x", "holds": "+", "waits": "."}
DEGREES = "degC"
KEYS = (
    "m mark this moment   s stop safely: outputs off, the record is kept",
    "m mark   s stop safely",
    "m mark  s stop",
)
NO_KEYS = ("Ctrl-C stops safely: outputs off, the record is kept", "Ctrl-C stops safely", "Ctrl-C stops")
"""As much as is there to press, for less and less width."""
NAME, VALUE, DEMAND = 14, 11, 22
SHORTEST_BAR = 8
WORST_FIRST = ("broken", "waits", "holds")


def sheet(known: Known, width: int, height: int, *, ascii_only: bool, keys: bool = True) -> list[Text]:
    """The lines of the screen, exactly `height` of them, none wider than `width`; `keys`: they are heard."""
    head = list(_head(known, width, ascii_only))
    values = [*_temperatures(known, width, ascii_only), *_switched(known, width), *_set(known, ascii_only)]
    ahead = list(_next(known))
    standings, said = list(_standings(known, width)), list(_events(known))
    room = height - len(head) - len(ahead) - 1
    values = values[: max(room - min(4, (room + 1) // 2), 0)]
    room -= len(values)
    judged = standings[: max(room - 3, min(room, 3))] if len(standings) + 3 > room else standings
    left = room - len(judged)
    lines = [*head, *values, *ahead, *judged, *(said[-left:] if left > 0 else [])]
    lines = lines[: height - 1]
    lines += [Text()] * (height - 1 - len(lines))
    words = KEYS if keys else NO_KEYS
    lines.append(Text(next((text for text in words if len(text) <= width), words[-1]), "dim"))
    for line in lines:
        line.no_wrap = True
        line.truncate(width, overflow="crop" if ascii_only else "ellipsis")
    return lines


def _head(known: Known, width: int, ascii_only: bool) -> Iterator[Text]:
    scenario = known.scenario
    yield Text(plain(scenario.title), "bold")
    left_ms = max(0, scenario.length_ms - known.t_ms)
    words = f" {clock(known.t_ms)} of {clock(scenario.length_ms)}, {clock(left_ms)} left"
    if "bench_late" in known.values:
        late, answer = (known.values[name] for name in ("bench_late", "answer_time"))
        words += f"; late by {_ms(late)}, answer in {_ms(answer)}"
    bar = min(30, width - len(words))
    if bar < SHORTEST_BAR:
        yield Text(words[1:])
        return
    full = round(bar * known.t_ms / max(1, scenario.length_ms))
    done, rest = ("#", ".") if ascii_only else ("━", "─")
    yield Text.assemble((done * full, "cyan"), (rest * (bar - full), "dim"), words)


def _ms(value: float) -> str:
    return "-" if np.isnan(value) else f"{value:.1f} ms"


def _temperatures(known: Known, width: int, ascii_only: bool) -> Iterator[Text]:
    """A line each: what the device reads first, as it was read, then the plant's own."""
    shown: set[str] = set()
    for name in sorted(known.names, key=lambda each: not each.startswith("in.")):
        bare = name.removeprefix("in.")
        if known.units[name] != DEGREES or bare in shown or _is_set(known, name) or name.startswith("out."):
            continue
        shown.add(bare)
        read = f"in.{bare}"
        value = known.values.get(read if read in known.names else name, np.nan)
        line = Text(f"  {plain(bare)[:NAME]:{NAME}}")
        line.append(f"{_degrees(value, ascii_only):>{VALUE}}", "bold red" if np.isnan(value) else "bold")
        line.append(f"  {_demands(known, (bare, read)):{DEMAND}}", "dim")
        field = width - NAME - VALUE - DEMAND - 6
        if field >= 8:
            line.append(spark(known.curve(name), min(field, 60), ascii_only=ascii_only), "cyan")
        yield line


def _degrees(value: float, ascii_only: bool) -> str:
    return "no reading" if np.isnan(value) else f"{value:.2f} {DEGREES if ascii_only else '°C'}"


def _demands(known: Known, names: tuple[str, str]) -> str:
    bounds = [bound for name in names for bound in known.bounds_of(name)]
    return ", ".join(f"{'<' if one.upper else '>'} {number(one.value)}" for one in bounds[:3])


def _is_set(known: Known, name: str) -> bool:
    """Whether a person sets it: an input that no probe of the plant feeds."""
    return name.startswith("in.") and name.removeprefix("in.") in known.scenario.panel


def _switched(known: Known, width: int) -> Iterator[Text]:
    """What is on and off, and the device's other figures, as words in lines."""
    line, used = Text("  "), 2
    for name in known.names:
        unit = known.units[name]
        if name.startswith("in.") or unit not in ("bool", "permille", "%") or f"out.{name}" in known.names:
            continue
        value, bare = known.values.get(name, np.nan), plain(name.removeprefix("out."))
        on = value > 0.0
        text = f"{bare} {'on' if on else 'off'}" if unit == "bool" else f"{bare} {number(value)} {unit}"
        if used + len(text) + 2 > width:
            yield line
            line, used = Text("  "), 2
        line.append(text, "bold yellow" if on else "dim")
        line.append("  ")
        used += len(text) + 2
    yield line


def _set(known: Known, ascii_only: bool) -> Iterator[Text]:
    words = []
    for name in known.names:
        if _is_set(known, name):
            value, unit = known.values.get(name, np.nan), known.units[name]
            sign = {"count": "", DEGREES: DEGREES if ascii_only else "°C"}.get(unit, unit)
            shown = ("on" if value else "off") if unit == "bool" else f"{number(value)} {sign}".rstrip()
            words.append(f"{plain(name.removeprefix('in.'))} {shown}")
    if words:
        yield Text(f"set  {'  '.join(words)}")


def _next(known: Known) -> Iterator[Text]:
    ahead = known.upcoming()
    if not ahead:
        yield Text("next nothing more: it runs to its end", "dim")
        return
    at_ms, text = ahead[0]
    more = f"   and {len(ahead) - 1} more" if len(ahead) > 1 else ""
    when = f"in {clock(at_ms - known.t_ms)} " if at_ms is not None else ""
    yield Text.assemble("next ", (f"{when}{plain(text)}", "bold"), (more, "dim"))


def _standings(known: Known, width: int) -> Iterator[Text]:
    standings = known.standings()
    words = [f"{sum(one.word == word for one in standings)} {word}" for word in WORST_FIRST]
    yield Text(f"assertions  {', '.join(words)}")
    for one in sorted(standings, key=lambda each: WORST_FIRST.index(each.word)):
        yield _standing(one)


def _standing(one: Standing) -> Text:
    line = Text.assemble((f"  {SIGNS[one.word]} {one.word:7}", STYLES[one.word]))
    verdict = one.verdict
    figure = "" if verdict.margin is None else margin(verdict.margin, plain(verdict.margin_unit))
    line.append(f"{figure:>10}  ", "bold" if one.word == "broken" else "dim")
    line.append(plain(one.title))
    return line


def _events(known: Known) -> Iterator[Text]:
    for event in known.events:
        line = Text.assemble((f"  {clock(event.t_ms)} ", "dim"), (f"{event.source:11} ", "dim"))
        line.append(plain(event.text), "bold" if event.source in ("disturbance", "bench") else "")
        yield line
