"""One strip of a chart recorder: curves over one axis, or logic lanes under each other, over bench time.

A strip becomes a figure as Plotly.js draws it. Plotly gets numbers only, never a text: names, values, units
and labels are set beside and over the figure by the page itself, as text. A colour is a name with an @ before
it, which the page looks up in its style sheet, so that one figure serves light, dark and paper.
"""

from __future__ import annotations

import base64
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

Figure = dict[str, Any]
Floats = NDArray[np.float64]

LANE_PX = 28
MOST_STEPS = 7
EDGES = {"l": 56, "r": 12, "t": 4, "b": 22}
BAR = (0.5, 0.94)
"""Where a lane's bar lies within the lane, from its top; on a narrow screen the name stands above it."""


@dataclass(frozen=True)
class Trace:
    """A signal in a strip.

    `times` (n,) [ms] and `values` (n,) [`unit`], already thinned; `held` where it holds until the next row.
    `tone` is a colour of the style sheet, `dash` solid, dot or dash; `hidden` until a person asks for it;
    `bold` for what an assertion speaks of. `texts` and `symbol` are of a lane of marks: what is said when.
    """

    name: str
    unit: str
    times: Any
    values: Any
    held: bool = False
    tone: str = "t1"
    dash: str = "solid"
    hidden: bool = False
    bold: bool = False
    texts: tuple[str, ...] = ()
    symbol: str = ""


@dataclass(frozen=True)
class Label:
    """A text over the figure at a bench time [ms] and a height on its axis; None: at the edge."""

    text: str
    t_ms: float | None
    y: float | None
    tone: str = "ink"
    side: str = "right"


@dataclass
class Strip:
    """What is drawn over one axis; `kind` is level, lanes or marks, `shapes` are Plotly's."""

    kind: str
    title: str
    unit: str
    traces: list[Trace]
    shapes: list[Figure] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    y: tuple[float, float] = (0.0, 1.0)
    height: int = 150
    fits: bool = False
    """Whether the axis follows what is visible when a person zooms."""


def level(
    title: str, unit: str, traces: list[Trace], *, also: Iterable[float] = (), height: int = 150
) -> Strip:
    """Curves over one axis that holds them all, and the values `also`."""
    return Strip("level", title, unit, traces, y=_room(traces, also), height=height)


def lanes(title: str, traces: list[Trace]) -> Strip:
    """A lane for each yes-or-no signal, the first on top."""
    height = len(traces) * LANE_PX + EDGES["t"] + EDGES["b"]
    return Strip("lanes", title, "", traces, y=(float(len(traces)), 0.0), height=height)


def marks(title: str, traces: list[Trace]) -> Strip:
    """A lane for each kind of event, with a mark at each."""
    strip = lanes(title, traces)
    strip.kind = "marks"
    return strip


def _room(traces: Sequence[Trace], also: Iterable[float]) -> tuple[float, float]:
    shown = [trace.values[np.isfinite(trace.values)] for trace in traces if not trace.hidden]
    parts = [part for part in (*shown, np.array(list(also), float)) if len(part)]
    if not parts:
        return 0.0, 1.0
    low = min(float(part.min()) for part in parts)
    high = max(float(part.max()) for part in parts)
    pad = 0.08 * (high - low) or max(1.0, 0.02 * abs(high))
    return low - pad, high + pad


def figure(strip: Strip) -> Figure:
    """What the page needs to draw a strip and to read values off it."""
    draw = {"lanes": _lane, "marks": _marks}.get(strip.kind, _curve)
    return {
        "kind": strip.kind,
        "fits": strip.fits,
        "labels": [vars(label) for label in strip.labels],
        "read": [_read(trace) for trace in strip.traces],
        "data": [draw(trace, at) for at, trace in enumerate(strip.traces)],
        "layout": {
            "height": strip.height,
            "margin": EDGES,
            "showlegend": False,
            "hovermode": False,
            "separators": ".\u2009",
            "paper_bgcolor": "rgba(0,0,0,0)",
            "plot_bgcolor": "rgba(0,0,0,0)",
            "xaxis": {"color": "@soft", "gridcolor": "@grid", "zeroline": False, "tickmode": "array"},
            "yaxis": _axis(strip),
            "shapes": strip.shapes,
        },
    }


def _axis(strip: Strip) -> Figure:
    axis: Figure = {"range": list(strip.y), "fixedrange": True, "color": "@soft", "zeroline": False}
    if strip.kind != "level":
        bases = [at + BAR[1] for at in range(len(strip.traces))]
        return axis | {"tickvals": bases, "showticklabels": False, "ticks": "", "gridcolor": "@grid"}
    whole = all(trace.unit == "count" for trace in strip.traces) and strip.y[1] - strip.y[0] < MOST_STEPS
    ticks: Figure = {"dtick": 1} if whole else {"nticks": 5}
    short = {"exponentformat": "SI", "minexponent": 5}  # 2 000 000 as 2M, which fits beside a narrow strip
    return axis | ticks | short | {"gridcolor": "@grid"}


def _curve(trace: Trace, at: int) -> Figure:
    return {
        "type": "scatter",
        "mode": "lines",
        "x": packed(trace.times),
        "y": packed(trace.values),
        "visible": not trace.hidden,
        "line": {
            "color": f"@{trace.tone}",
            "width": 2.4 if trace.bold else 1.6,
            "dash": trace.dash,
            "shape": "hv" if trace.held else "linear",
        },
    }


def _lane(trace: Trace, at: int) -> Figure:
    """A bar for each time that it is on; its outline keeps the shortest pulse visible."""
    spans = on_spans(trace.times, trace.values)
    x = np.full((len(spans), 5), math.nan)
    y = np.full((len(spans), 5), math.nan)
    x[:, 0:2], x[:, 2:4] = spans[:, :1], spans[:, 1:]
    y[:, [0, 3]], y[:, [1, 2]] = at + BAR[1], at + BAR[0]
    return {
        "type": "scatter",
        "mode": "lines",
        "x": packed(x.ravel(), "<f8"),
        "y": packed(y.ravel()),
        "fill": "toself",
        "fillcolor": f"@{trace.tone}",
        "line": {"color": f"@{trace.tone}", "width": 1},
    }


def _marks(trace: Trace, at: int) -> Figure:
    heights = np.full(len(trace.times), at + (BAR[0] + BAR[1]) / 2)
    marker = {"symbol": trace.symbol, "size": 9, "color": f"@{trace.tone}"}
    return {
        "type": "scatter",
        "mode": "markers",
        "x": packed(trace.times),
        "y": packed(heights),
        "marker": marker,
        "cliponaxis": False,
    }


def on_spans(times: Any, values: Any) -> Floats:
    """From when to when a signal that holds is on, shape (n, 2). [ms]"""
    on = np.nan_to_num(np.asarray(values, float)) != 0.0
    moments = np.asarray(times, float)
    if not on.any():
        return np.empty((0, 2))
    change = np.diff(on.astype(np.int8), prepend=0)
    begins = moments[change == 1]
    ends = moments[change == -1]
    return np.stack((begins, np.append(ends, moments[-1:])[: len(begins)]), axis=1)


def _read(trace: Trace) -> Figure:
    """What the read-out looks a value up in; a curve's is the curve itself."""
    read: Figure = {"unit": trace.unit, "held": trace.held}
    if trace.symbol:
        read |= {"x": packed(trace.times), "texts": list(trace.texts)}
    elif trace.unit == "bool":
        read |= {"x": packed(trace.times), "y": packed(trace.values)}
    return read


def packed(numbers: Any, kind: str | None = None) -> Figure:
    """An array as Plotly reads it, as bytes in base64: whole ms in 4 bytes, values in single precision."""
    array = np.asarray(numbers)
    if kind is None:
        kind = "<i4" if array.dtype.kind == "i" else "<f4"
    return {"dtype": kind[1:], "bdata": base64.b64encode(array.astype(kind).tobytes()).decode()}


def line(x0: float, x1: float, y0: float, y1: float, tone: str, **more: Any) -> Figure:
    """A straight line in the figure's own figures: ms and the axis' unit."""
    look = {"color": f"@{tone}", "width": more.pop("width", 1.2), "dash": more.pop("dash", "solid")}
    return {"type": "line", "x0": x0, "x1": x1, "y0": y0, "y1": y1, "line": look} | more


def upright(t_ms: float, tone: str, **more: Any) -> Figure:
    """A line from bottom to top at one moment."""
    return line(t_ms, t_ms, 0.0, 1.0, tone, yref="paper", layer="below", **more)


def area(x0: float, x1: float, y0: float, y1: float, tone: str, **more: Any) -> Figure:
    """A filled rectangle behind the curves."""
    box = {"type": "rect", "x0": x0, "x1": x1, "y0": y0, "y1": y1, "fillcolor": f"@{tone}"}
    return box | {"line": {"width": 0}, "layer": "below"} | more
