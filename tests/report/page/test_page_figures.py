"""What is drawn: figures that Plotly's own schema takes, limits and margins where they were judged."""

from __future__ import annotations

import base64
import json
from pathlib import Path
from typing import Any

import numpy as np
import plotly.graph_objects as go
import pytest

from harness.assertions import AssertionSpec, Outcome, Verdict
from harness.report.page.moment import Moment, moment
from harness.report.page.overview import FEWEST_BUCKETS, MOST_BUCKETS, MOST_POINTS, buckets_for, overview
from harness.report.page.played import Judged, PlayedRun
from harness.report.page.strip import figure, on_spans, packed
from harness.report.page.timing import Timing, timing_of
from tests.report.page.small_run import Rows, record


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> PlayedRun:
    return PlayedRun(record(tmp_path_factory.mktemp("run")))


def drawn(run: PlayedRun, title: str) -> Moment:
    found = moment(run, next(judged for judged in run.judged if judged.verdict.title == title))
    assert found is not None
    return found


def black(part: Any) -> Any:
    """The colours that the page looks up, as one that the schema knows."""
    return json.loads(json.dumps(part).replace('"@none"', '"black"'), object_hook=_paint)


def _paint(part: dict[str, Any]) -> dict[str, Any]:
    return {key: "black" if str(value).startswith("@") else value for key, value in part.items()}


def test_every_figure_is_one_by_plotly_s_own_schema(run: PlayedRun) -> None:
    moments = [found for judged in run.judged if (found := moment(run, judged)) is not None]
    strips = [*overview([run]), *overview([run, run]), *(strip for each in moments for strip in each.strips)]
    assert len(strips) > 15
    for strip in strips:
        made = black(figure(strip))
        go.Figure(data=made["data"], layout=made["layout"])


def test_plotly_gets_no_text(run: PlayedRun) -> None:
    for strip in overview([run]):
        made = figure(strip)
        said = json.dumps([made["data"], made["layout"]])
        assert not any(trace.name and json.dumps(trace.name) in said for trace in strip.traces)
        assert not any(key in said for key in ('"text"', '"name"', '"title"', '"hovertext"', '"customdata"'))


def test_arrays_come_back_from_their_bytes() -> None:
    times = packed(np.array([0, 14_400_000]))
    assert np.frombuffer(base64.b64decode(times["bdata"]), times["dtype"]).tolist() == [0, 14_400_000]
    values = packed(np.array([1.5, np.nan]))
    assert np.isnan(np.frombuffer(base64.b64decode(values["bdata"]), values["dtype"])[1])


def test_the_margin_is_drawn_from_the_curve_to_the_limit(run: PlayedRun) -> None:
    found = drawn(run, "never too hot")
    (strip,) = found.strips
    limits = [s for s in strip.shapes if s["type"] == "line" and s["y0"] == s["y1"] == 66.0]
    bars = [s for s in strip.shapes if s["line"].get("color") == "@met" and s["line"]["width"] == 3.5]
    assert len(limits) == 1
    assert [(bar["x0"], bar["y0"], bar["y1"]) for bar in bars] == [(30_000.0, pytest.approx(62.0), 66.0)]
    assert {label.text for label in strip.labels} == {"limit 66 °C", "margin +4 K"}
    assert found.window[0] < 30_000 < found.window[1]


def test_a_break_is_drawn_where_it_goes_furthest(run: PlayedRun) -> None:
    found = drawn(run, "never that hot")
    (strip,) = found.strips
    (bar,) = [s for s in strip.shapes if s["line"].get("color") == "@broken" and s["line"]["width"] == 3.5]
    assert (bar["x0"], bar["y0"], bar["y1"]) == (30_000.0, pytest.approx(62.0), 60.0)
    assert found.window[0] < 25_000 < 30_000 < found.window[1]
    assert "margin −2 K" in {label.text for label in strip.labels}
    beyond = [s for s in strip.shapes if s.get("fillcolor") == "@beyond"]
    assert beyond
    assert beyond[0]["y0"] == 60.0 < beyond[0]["y1"]


def test_a_figure_of_merit_has_its_target_and_its_limit(run: PlayedRun) -> None:
    (strip,) = drawn(run, "little overshoot").strips
    assert {label.text for label in strip.labels} == {"target 61 °C", "limit 63 °C", "margin +1 K"}


def test_a_response_has_a_gauge_of_its_time(run: PlayedRun) -> None:
    (strip,) = drawn(run, "gas shut in time").strips
    assert [trace.name for trace in strip.traces] == ["allowed 4 s", "flame", "gas_valve"]
    outline = next(s for s in strip.shapes if s.get("fillcolor") == "@none")
    assert (outline["x0"], outline["x1"]) == (30_000.0, 34_000.0)
    rest = next(s for s in strip.shapes if s.get("fillcolor") == "@met-fill")
    assert (rest["x0"], rest["x1"]) == (31_500.0, 34_000.0)


def test_nothing_is_drawn_where_no_moment_decided(run: PlayedRun) -> None:
    judged = next(j for j in run.judged if j.verdict.outcome is Outcome.NOT_EXERCISED)
    assert moment(run, judged) is None


def test_the_whole_run_has_marks_lanes_and_curves(run: PlayedRun) -> None:
    strips = overview([run])
    assert [strip.title for strip in strips][:5] == ["Marks", "Temperatures", "Logic", "Heat", "Unburned gas"]
    assert [trace.name for trace in strips[0].traces] == ["disturbances", "device", "plant", "decided"]
    assert [trace.name for trace in strips[1].traces] == ["liquor", "in.mash_setpoint"]
    assert strips[1].traces[1].dash == "dash"
    starts = [shape["x0"] for shape in strips[1].shapes if shape["line"].get("dash") == "dot"]
    assert starts == [30_000, 39_000]


def test_two_runs_share_each_strip(tmp_path: Path) -> None:
    runs = [PlayedRun(record(tmp_path), "A"), PlayedRun(record(tmp_path, rows=Rows(shut_s=5.0)), "B")]
    strips = {strip.title: strip for strip in overview(runs)}
    assert [trace.name for trace in strips["liquor"].traces] == ["A liquor", "B liquor"]
    assert len({(trace.tone, trace.dash) for trace in strips["liquor"].traces}) == 2
    assert [trace.name for trace in strips["Logic"].traces][:2] == ["A flame", "B flame"]


@pytest.mark.parametrize(
    ("said", "margin", "decided", "outcome", "expected"),
    [
        ({"after": "a", "expect": "b", "within_ms": 4000}, 2.5, 31_500, "met", (30_000, 34_000, 31_500)),
        ({"after": "a", "expect": "b", "within_ms": 4000}, -1.0, 34_000, "broken", (30_000, 34_000, 35_000)),
        ({"never": "a", "grace_ms": 4000}, 3.0, 31_000, "met", (30_000, 34_000, 31_000)),
        ({"before": "a", "expect": "b"}, 2.0, 9_000, "met", (7_000, 9_000, 7_000)),
        ({"before": "a", "expect": "b"}, -2.0, 9_000, "broken", (9_000, 9_000, 11_000)),
    ],
)
def test_times_follow_from_moment_and_margin(
    said: dict[str, Any], margin: float, decided: int, outcome: str, expected: tuple[int, int, int]
) -> None:
    verdict = Verdict("t", "b", Outcome(outcome), margin, "s", decided)
    found = timing_of(Judged(verdict, AssertionSpec("t", **said), None))
    assert found is not None
    assert (found.since_ms, found.due_ms, found.came_ms) == expected


@pytest.mark.parametrize("spec", ["at_most", "at_least"])
def test_what_is_measured_lasts_from_its_beginning(tmp_path: Path, spec: str) -> None:
    asked = AssertionSpec("gas time", each="gas_valve", **{spec: "20 s"})  # type: ignore[arg-type]
    (judged,) = PlayedRun(record(tmp_path, specs=(asked,))).judged
    found = timing_of(judged)
    if spec == "at_least":
        assert found == Timing(4_000.0, 24_000.0, 31_500.0, "must last")
    else:
        assert found == Timing(4_000.0, 24_000.0, 31_500.0)


def test_on_spans_of_what_holds() -> None:
    assert on_spans([0, 10, 20, 30], [0, 1, 0, 1]).tolist() == [[10, 20], [30, 30]]
    assert on_spans([0, 10], [1, 1]).tolist() == [[0, 10]]
    assert on_spans([], []).tolist() == []


def test_many_signals_are_cut_into_fewer_buckets(run: PlayedRun) -> None:
    few, many = buckets_for([run]), buckets_for([run] * 60)
    assert FEWEST_BUCKETS <= many < few <= MOST_BUCKETS
    moved = sum(run.moved(name) for name in run.columns)
    assert 2 * 60 * moved * many <= MOST_POINTS


def test_a_moment_has_every_row_that_its_foot_promises(run: PlayedRun) -> None:
    found = drawn(run, "never too hot")
    (strip,) = found.strips
    low, high = found.window
    # The liquor rises up to 30 s, so that every row tells something.
    rising = run.times[(run.times >= low) & (run.times <= min(high, 30_000))]
    assert found.whole
    assert set(rising.tolist()) <= set(strip.traces[0].times.tolist())
