"""A run as a block of lines: what a person needs, at any width, with nothing that steers the terminal."""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console, RenderableType

from harness.assertions.verdict import Outcome, Status, Verdict
from harness.bench.result import Event, RunResult
from harness.logbook import Logbook, RunMeta
from harness.report import progress
from harness.report.block import run_block
from harness.report.console import console
from harness.report.moments import moments
from harness.report.record import about, as_result, signal_table, sparks
from harness.report.runs import runs_table
from harness.report.summary import summary

MET = Verdict("the mash is never scorched", "common practice", Outcome.MET, 3.25, "degC", 722_340)
BROKEN = Verdict("gas shut within 4 s", "common practice", Outcome.BROKEN, -1.1, "s", 484_000)
IDLE = Verdict("no second try", "", Outcome.NOT_EXERCISED, exercised=0, note="falls(flame) never came")
EVENTS = (
    Event(4_000, "plant", "flame lit"),
    Event(480_000, "disturbance", "flame-lost begins"),
    Event(485_100, "plant", "gas valve closed"),
)
RUN = RunResult(
    run_id=12,
    scenario_file="flame-lost.toml",
    title="Flame lost while heating",
    device="builtin",
    status=Status.FAIL,
    reasons=(),
    verdicts=(BROKEN, MET, IDLE),
    events=EVENTS,
    digest="ab",
    length_ms=1_500_000,
    exchanges=6000,
    repeats=0,
    wall_s=2.0,
)


def shown(renderables: Iterable[RenderableType], width: int = 80, **options: object) -> str:
    out = io.StringIO()
    target = console(out, width=width) if not options else Console(file=out, width=width, **options)  # type: ignore[arg-type]
    for renderable in renderables:
        target.print(renderable)
    return out.getvalue()


def one_line(text: str) -> str:
    return " ".join(text.split())


def test_a_failed_run_tells_all() -> None:
    text = one_line(shown(run_block(RUN), 100))
    for words in (
        "fail Flame lost while heating run 12",
        "flame-lost.toml on builtin: 25:00.0 of bench time in 2.0 s, 3000 exchanges/s",
        "broken -1.1 s 08:04.0 gas shut within 4 s",
        "met +3.25 degC 12:02.3 the mash is never scorched",
        "not exercised - - no second try falls(flame) never came",
        "08:00.0 disturbance flame-lost begins > 08:04.0 broken: gas shut within 4 s 08:05.1 plant",
        "unlit show 12 --around 08:04 --signal NAME",
        "The trigger never came",
    ):
        assert words in text


def test_a_passed_run_is_short() -> None:
    text = shown(run_block(replace(RUN, status=Status.PASS, verdicts=(MET,))))
    assert text.startswith("pass")
    assert "next:" not in text
    assert "time line" not in text


def test_reasons_of_an_inconclusive_run_are_given_with_the_last_events() -> None:
    events = tuple(Event(t_ms, "plant", f"event {t_ms}") for t_ms in range(20))
    lost = replace(
        RUN, status=Status.INCONCLUSIVE, verdicts=(), events=events, reasons=("the device is gone",)
    )
    text = one_line(shown(run_block(lost)))
    assert "why: the device is gone" in text
    assert "event 19" in text
    assert "event 12" in text
    assert "event 11" not in text
    assert "play it again" in text


@pytest.mark.parametrize(
    ("expected", "said"), [(None, False), ("fail", False), ("pass", True), ("inconclusive", True)]
)
def test_an_outcome_that_was_not_expected_is_said(expected: str | None, said: bool) -> None:
    assert (f"the scenario expects {expected}" in shown(run_block(RUN, expected=expected))) is said


def test_the_time_line_shows_what_is_near_and_marks_gaps() -> None:
    events = tuple(Event(t_ms, "plant", str(t_ms)) for t_ms in range(0, 100_000, 1000))
    verdicts = (replace(BROKEN, decided_ms=20_500), replace(BROKEN, decided_ms=80_000, title="other"))
    lines = list(moments(replace(RUN, events=events, verdicts=verdicts)))
    texts = [line.words[3] or line.words[1] for line in lines]
    first = ["16000", "17000", "18000", "19000", "20000", "broken: gas shut within 4 s"]
    second = ["...", "76000", "77000", "78000", "79000", "80000", "broken: other"]
    after = ["21000", "22000", "23000"], ["81000", "82000", "83000"]
    assert texts == [*first, *after[0], *second, *after[1]]
    assert sum(line.decided for line in lines) == 2


def test_the_time_line_of_a_flood_stays_short() -> None:
    verdicts = tuple(replace(BROKEN, decided_ms=t_ms) for t_ms in range(0, 1_000_000, 1000))
    events = tuple(Event(t_ms, "device", "say x") for t_ms in range(0, 1_000_000, 200))
    assert len(list(moments(replace(RUN, events=events, verdicts=verdicts)))) < 50


@pytest.mark.parametrize("width", [40, 80, 200])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    verdicts = (replace(BROKEN, title="y" * 200),)
    long = replace(RUN, title="word " * 40, scenario_file="x" * 150, verdicts=verdicts)
    lines = shown([*run_block(long), *summary([long], Path("z" * 120))], width).splitlines()
    assert max(map(len, lines)) <= width


HOSTILE = "\x1b[2J[red]x[/red] :smile: \u202e\r\x07"


def test_words_from_outside_never_steer_the_terminal() -> None:
    verdicts = (Verdict(HOSTILE, HOSTILE, Outcome.BROKEN, -1.0, HOSTILE, 480_000, 1, HOSTILE),)
    run = replace(
        RUN,
        title=HOSTILE,
        scenario_file=HOSTILE,
        device=HOSTILE,
        reasons=(HOSTILE,),
        notes=(HOSTILE,),
        verdicts=verdicts,
        events=(Event(480_000, HOSTILE, HOSTILE),),
    )
    text = shown([*run_block(run), *summary([run], Path(HOSTILE))], 300)
    assert not set(text) & set("\x1b\u202e\r\x07")
    assert text.count("[red]x[/red] :smile:") == 12


def test_no_colour_without_a_terminal_and_none_with_no_color(monkeypatch: pytest.MonkeyPatch) -> None:
    assert "\x1b" not in shown(run_block(RUN))
    assert "\x1b[1;31m" in shown(run_block(RUN), force_terminal=True, color_system="standard")
    monkeypatch.setenv("NO_COLOR", "1")
    assert "31m" not in shown(run_block(RUN), force_terminal=True, color_system="standard")


def test_the_summary_counts_and_cautions() -> None:
    runs = [RUN, replace(RUN, run_id=13, status=Status.PASS, verdicts=(MET,))]
    text = one_line(shown(summary(runs, Path("book.sqlite"), not_run=1)))
    assert "2 runs: 1 pass, 1 fail, 1 scenario not played" in text
    assert "assertions: 2 met, 1 broken, 1 not exercised" in text
    assert "expected" not in text
    assert "; 1 of 2 as expected" in one_line(shown(summary(runs, Path("b"), as_expected=1)))
    assert "runs 12 to 13 in book.sqlite" in text
    assert "No bench run is a permission to light a burner" in text


def test_progress_is_for_a_person_on_a_terminal_only(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "PATIENCE_S", 0.0)
    silent, seen = io.StringIO(), io.StringIO()
    for out, terminal in ((silent, False), (seen, True)):
        target = Console(file=out, force_terminal=terminal, width=100)
        with progress.RunProgress(target, "[b]Fl\x1bame[/b]", 250) as shows:
            shows(60_000, 120_000)
    assert silent.getvalue() == ""
    assert r"[b]Fl\x1bame[/b]" in seen.getvalue()
    assert "01:00.0 / 02:00.0" in seen.getvalue()


@pytest.fixture
def book(tmp_path: Path) -> Logbook:
    book = Logbook(tmp_path / "b")
    setup = {"liquor_volume": 55.0, "limit_kind": "k", "an_old_one": 2.0}
    meta = RunMeta(
        scenario_file="f.toml", title="Flame lost", device="builtin", plant="herms-gas", plant_setup=setup,
        seed=3,
    )  # fmt: skip
    for finished in (True, False):
        with book.begin(meta, ["liquor", "flame", "in.x"], ["degC", "bool", "mdegC"]) as writer:
            times = np.arange(100) * 250
            writer.chunk(times, np.column_stack([times / 1000.0, np.zeros(100), np.full(100, np.nan)]))
            for event in EVENTS:
                writer.event(event)
            if finished:
                writer.finish(RUN)
    return book


def test_a_run_read_back_shows_as_when_it_ended(book: Logbook) -> None:
    back = as_result(book.read(1))
    assert back.verdicts == RUN.verdicts
    assert back.events == RUN.events
    assert (back.status, back.length_ms, back.wall_s) == (RUN.status, RUN.length_ms, RUN.wall_s)
    text = shown([about(book.read(1)), *sparks(book.read(1), ascii_only=True)])
    assert "herms-gas, seed 3, liquor_volume 55 L, limit_kind k, an_old_one 2" in one_line(text)
    assert "liquor" in text
    assert "2 signals did not move: flame, in.x" in text


def test_a_run_that_a_person_stopped_says_its_reason_once() -> None:
    early = "the run ended early, at 40.5 s"
    verdicts = tuple(
        replace(one, outcome=Outcome.NOT_JUDGED, margin=None, note=early) for one in (MET, BROKEN)
    )
    reasons = ("stopped by a person at 40.500 s",)
    run = replace(RUN, status=Status.INCONCLUSIVE, verdicts=verdicts, reasons=reasons)
    text = one_line(shown(run_block(run)))
    assert text.count(early) == 1
    assert f"gas shut within 4 s each: {early}" in text
    assert "next: Play it again, to its end; until then the run says nothing either way." in text


def test_an_interrupted_run_is_inconclusive_and_says_so(book: Logbook) -> None:
    back = as_result(book.read(2))
    assert back.status is Status.INCONCLUSIVE
    assert "interrupted" in back.reasons[0]
    assert back.length_ms == 99 * 250
    assert "00:24.8 of bench time" in shown(run_block(back))
    assert "of bench time in" not in shown(run_block(back))
    assert "interrupted" in shown([runs_table(book.runs())])


def test_a_run_that_still_goes_on_says_so_and_asks_for_nothing(book: Logbook) -> None:
    with book.begin(RunMeta(scenario_file="g.toml"), [], []):
        text = shown(run_block(as_result(book.read(3))))
    assert "running" in text
    assert "still running, in process" in text
    assert "next:" not in text


def test_values_of_a_signal_stand_in_columns(book: Logbook) -> None:
    times, columns = book.read(1).signals(["liquor", "in.x"])
    lines = list(signal_table(times[:2], columns, {"liquor": "degC", "in.x": "mdegC"}))
    assert [line.split() for line in lines] == [
        ["time", "liquor", "[degC]", "in.x", "[mdegC]"],
        ["00:00.0", "0", "-"],
        ["00:00.3", "0.25", "-"],
    ]


def test_a_run_that_passed_still_shows_its_warnings() -> None:
    passed = replace(
        RUN,
        status=Status.PASS,
        verdicts=(MET,),
        notes=("no input of the device reads: flame", "outputs recorded only: alarm"),
        warnings=("no input of the device reads: flame",),
    )
    text = shown(run_block(passed))
    assert "mind: no input of the device reads: flame" in text
    assert "recorded only" not in text
